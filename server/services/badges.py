"""Record the badge of a member of staff, take it back, and find whose badge is shown."""

from datetime import datetime

from server.domain.audit import AuditAct, Subject, SubjectKind
from server.domain.badge import badge_number
from server.domain.errors import Invalid
from server.services.actor import Actor
from server.services.audit import note
from server.services.board_key import BoardKey
from server.services.enter_staff import read_staff
from server.services.errors import Conflict, NotFound
from server.services.permissions import Act, may, require
from server.store import badges as stored
from server.store.badges import Badge
from server.store.patients import patients_of_record_number
from server.store.sessions import ReadSession, WriteSession

PURPOSE = "badge"
OF_A_PATIENT = "could be taken for the record number of a patient; expected the code of a badge"


def record_badge(
    session: WriteSession, key: BoardKey, actor: Actor, staff_id: str, scan: str, *, now: datetime
) -> Badge:
    """Record the badge that somebody has from now on, in place of the one before.

    Raises `Forbidden`, `NotFound`, `Invalid("badge", …)`, and `Conflict` for somebody else's badge.
    """
    require_badges(session, actor, staff_id)
    number = badge_number(scan)
    _require_no_patient(session, number)
    badge_hash = key.digest(PURPOSE, number)
    if stored.holder_of_badge(session, badge_hash) not in (None, staff_id):
        raise Conflict("that badge is recorded for somebody else; take it back there first")
    badge = Badge(staff_id, now, actor.id)
    stored.save_badge(session, badge, badge_hash)
    note(session, actor, AuditAct.BADGE_RECORDED, _whose(staff_id), now=now)
    return badge


def take_badge_back(session: WriteSession, actor: Actor, staff_id: str, *, now: datetime) -> None:
    """Have somebody's badge open nothing from now on. Raises `Forbidden`, `NotFound`."""
    require_badges(session, actor, staff_id)
    if not stored.forget_badge(session, staff_id):
        raise NotFound("the badge")
    note(session, actor, AuditAct.BADGE_TAKEN_BACK, _whose(staff_id), now=now)


def read_badge(session: ReadSession, actor: Actor, staff_id: str) -> Badge | None:
    """Answer since when somebody has a badge, to themselves and to whoever records badges."""
    if actor.staff_id != staff_id:
        require_badges(session, actor, staff_id)
    return stored.read_badge(session, staff_id)


def list_badged(session: ReadSession, actor: Actor) -> frozenset[str]:
    """Answer the ids of all who have a badge, to whoever records badges; nobody to others."""
    return stored.staff_with_badge(session) if may(actor, Act.BADGES) else frozenset()


def holder_of(session: ReadSession, key: BoardKey, scan: str) -> str | None:
    """Answer the id of whoever has a badge, None where nobody does, or it is none at all."""
    try:
        number = badge_number(scan)
    except Invalid:
        return None
    return stored.holder_of_badge(session, key.digest(PURPOSE, number))


def require_badges(session: ReadSession, actor: Actor, staff_id: str) -> None:
    """Raise `Forbidden` or `NotFound` unless the actor records the badges of this person."""
    require(actor, Act.BADGES)
    read_staff(session, actor, staff_id)


def _require_no_patient(session: ReadSession, number: str) -> None:
    shape = session.site.record_number
    looks = shape is not None and shape.fullmatch(number) is not None
    if looks or patients_of_record_number(session, number):
        raise Invalid("badge", OF_A_PATIENT)


def _whose(staff_id: str) -> Subject:
    return Subject(SubjectKind.STAFF, staff_id)
