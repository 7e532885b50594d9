"""Note what a ward changed in how it works, or withdraw a note that was a mistake."""

from datetime import date, datetime

from server.domain import limits
from server.domain.audit import AuditAct, Subject, SubjectKind
from server.domain.payloads.values import require_text
from server.domain.ward_change import WardChange
from server.services.actor import Actor
from server.services.audit import note
from server.services.enter_ward import read_ward
from server.services.errors import Conflict, NotFound
from server.services.permissions import Act, require
from server.store import ward_changes as stored
from server.store.ids import new_id
from server.store.sessions import WriteSession


def note_ward_change(
    session: WriteSession, actor: Actor, ward_id: str, day: date, text: str, *, now: datetime
) -> WardChange:
    """Note that from `day` on, by the ward's calendar, something is done differently.

    A day to come is taken: what is planned can be noted. Raises `NotFound`, `Forbidden`, `Invalid`.
    """
    ward = read_ward(session, actor, ward_id)
    require(actor, Act.NOTE_CHANGE, ward_id)
    require_text("text", text, limits.SHORT_TEXT)
    change = WardChange(
        id=new_id(),
        ward_id=ward.id,
        day=day,
        text=text.strip(),
        recorded_by=actor.id,
        recorded_at=now,
    )
    stored.add_ward_change(session, change)
    _note(session, actor, AuditAct.CHANGE_NOTED, change, now)
    return change


def withdraw_ward_change(
    session: WriteSession, actor: Actor, change_id: str, *, now: datetime
) -> WardChange:
    """Withdraw a note: it stays readable, and is drawn no more.

    Raises `NotFound`, `Forbidden`, and `Conflict` if it was withdrawn before.
    """
    change = stored.read_ward_change(session, change_id)
    if change is None:
        raise NotFound("the change")
    require(actor, Act.NOTE_CHANGE, change.ward_id)
    if not change.stands:
        raise Conflict("the change was withdrawn before")
    stored.withdraw_ward_change(session, change.id, by=actor.id, at=now)
    _note(session, actor, AuditAct.CHANGE_WITHDRAWN, change, now)
    return change


def _note(
    session: WriteSession, actor: Actor, act: AuditAct, change: WardChange, now: datetime
) -> None:
    # Its words may be anything that was typed: the trail names the day alone.
    detail = {"day": f"{change.day}"}
    subject = Subject(SubjectKind.WARD, change.ward_id)
    note(session, actor, act, subject, now=now, ward_id=change.ward_id, detail=detail)
