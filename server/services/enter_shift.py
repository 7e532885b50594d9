"""Enter a shift: who is on duty on a ward, from when until when, with breaks."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from server.domain.audit import AuditAct, Plain, Subject, SubjectKind
from server.domain.errors import Invalid
from server.services.actor import Actor
from server.services.audit import note
from server.services.errors import NotFound
from server.services.permissions import Act, require
from server.store import shifts as stored
from server.store.ids import new_id
from server.store.sessions import ReadSession, WriteSession
from server.store.shifts import Break, Shift
from server.store.staff import read_staff
from server.store.training import remove_shift_work
from server.store.wards import read_ward

LONGEST: Final = timedelta(hours=24)


@dataclass(frozen=True, slots=True)
class ShiftDraft:
    """A shift as entered; an id that exists already changes that shift."""

    staff_id: str
    ward_id: str
    starts_at: datetime
    ends_at: datetime
    breaks: tuple[Break, ...] = ()
    id: str | None = None


def enter_shift(session: WriteSession, actor: Actor, draft: ShiftDraft, *, now: datetime) -> Shift:
    """Enter or change a shift. Raises `Forbidden`, `NotFound`, `Invalid`."""
    require(actor, Act.PLAN_STAFF, draft.ward_id)
    present = stored.read_shift(session, draft.id) if draft.id is not None else None
    if present is not None:
        require(actor, Act.PLAN_STAFF, present.ward_id)
    if read_ward(session, draft.ward_id) is None:
        raise NotFound("the ward")
    if read_staff(session, draft.staff_id) is None:
        raise NotFound("the member of staff")
    _require_sound(draft)
    shift = Shift(
        id=draft.id or new_id(),
        staff_id=draft.staff_id,
        ward_id=draft.ward_id,
        starts_at=draft.starts_at,
        ends_at=draft.ends_at,
        breaks=draft.breaks,
    )
    stored.save_shift(session, shift)
    note_shift(session, actor, shift, present, now=now)
    for ward_id in {draft.ward_id, present.ward_id if present else draft.ward_id}:
        session.touch(ward_id)
    return shift


def remove_shift(session: WriteSession, actor: Actor, shift_id: str, *, now: datetime) -> None:
    """Take a shift off the plan. Raises `Forbidden`, `NotFound`."""
    shift = stored.read_shift(session, shift_id)
    if shift is None:
        raise NotFound("the shift")
    require(actor, Act.PLAN_STAFF, shift.ward_id)
    remove_shift_work(session, shift_id)
    stored.remove_shift(session, shift_id)
    _note(session, actor, AuditAct.SHIFT_REMOVED, shift, _times(shift), now)
    session.touch(shift.ward_id)


def note_shift(
    session: WriteSession, actor: Actor, shift: Shift, present: Shift | None, *, now: datetime
) -> None:
    """Note in the audit trail that a shift was entered, or changed from `present` if it was."""
    if present is None:
        _note(session, actor, AuditAct.SHIFT_ENTERED, shift, _times(shift), now)
    elif shift != present:
        was = {f"{name}_was": words for name, words in _times(present).items()}
        _note(session, actor, AuditAct.SHIFT_CHANGED, shift, _times(shift) | was, now)


def list_shifts(
    session: ReadSession, actor: Actor, ward_id: str, from_at: datetime, until: datetime
) -> tuple[Shift, ...]:
    """Answer the shifts on a ward that overlap a period."""
    require(actor, Act.READ, ward_id)
    return stored.shifts_between(session, ward_id, from_at, until)


def _times(shift: Shift) -> dict[str, Plain]:
    """When a shift is, as instants; breaks as pairs of them."""
    breaks = [f"{one.starts_at:%FT%TZ}/{one.ends_at:%FT%TZ}" for one in shift.breaks]
    return {
        "shift": shift.id,
        "starts_at": f"{shift.starts_at:%FT%TZ}",
        "ends_at": f"{shift.ends_at:%FT%TZ}",
        "breaks": breaks,
    }


def _note(
    session: WriteSession,
    actor: Actor,
    act: AuditAct,
    shift: Shift,
    detail: Mapping[str, Plain],
    now: datetime,
) -> None:
    subject = Subject(SubjectKind.STAFF, shift.staff_id)
    note(session, actor, act, subject, now=now, ward_id=shift.ward_id, detail=detail)


def _require_sound(draft: ShiftDraft) -> None:
    if draft.ends_at <= draft.starts_at:
        raise Invalid("ends_at", "is not after starts_at; expected a later instant")
    if draft.ends_at - draft.starts_at > LONGEST:
        raise Invalid("ends_at", "makes a shift of over 24 hours; expected at most 24")
    last = draft.starts_at
    for place, pause in enumerate(draft.breaks):
        if pause.ends_at <= pause.starts_at:
            raise Invalid(f"breaks.{place}.ends_at", "is not after its starts_at")
        if pause.starts_at < last or pause.ends_at > draft.ends_at:
            message = "lies outside the shift or overlaps the break before it"
            raise Invalid(f"breaks.{place}.starts_at", message)
        last = pause.ends_at
