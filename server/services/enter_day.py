"""Enter a day of a ward at once: who is there, for what, with which beds, and what is allowed."""

from collections.abc import Iterable
from dataclasses import dataclass, fields, replace
from datetime import datetime
from itertools import pairwise
from typing import Final

from server.domain.audit import AuditAct, Subject, SubjectKind
from server.domain.errors import Invalid
from server.domain.payloads.values import require_within
from server.domain.workload.capacity import WardLimits
from server.domain.workload.period import Period
from server.services.actor import Actor
from server.services.audit import note
from server.services.enter_shift import ShiftDraft, enter_shift, remove_shift
from server.services.enter_ward import read_ward
from server.services.nurses import nurse_of_ward
from server.services.permissions import Act, require
from server.store.sessions import ReadSession, WriteSession
from server.store.shifts import Shift, shifts_between
from server.store.training import (
    ShiftWork,
    Training,
    read_training,
    save_shift_work,
    save_training,
)
from server.store.ward_limits import limits_at, save_limits

LONGEST_NAME: Final = 40
MOST_NAMES: Final = 40
MOST_AT_ONCE: Final = (1, 50)
_AT_ONCE: Final = ("most_starts", "porters", "issues_per_quarter")


@dataclass(frozen=True, slots=True)
class PersonDay:
    """A shift of somebody with its beds and duties; `training` None: as it was."""

    shift: ShiftDraft
    work: ShiftWork
    training: Training | None = None


@dataclass(frozen=True, slots=True)
class DayDraft:
    """A day as entered; `removed` are shifts taken off, `limits` None: as they were.

    Whether learnt minutes count is not entered here: that is the manager's.
    """

    ward_id: str
    people: tuple[PersonDay, ...]
    removed: tuple[str, ...] = ()
    limits: WardLimits | None = None


def enter_day(
    session: WriteSession, actor: Actor, draft: DayDraft, *, now: datetime
) -> tuple[Shift, ...]:
    """Enter or change a day, all of it or nothing; its shifts in the order given.

    Raises `Forbidden`, `NotFound`, `Invalid` with fields like `people.2.breaks.0.starts_at`.
    """
    require(actor, Act.PLAN_STAFF, draft.ward_id)
    read_ward(session, actor, draft.ward_id)
    for shift_id in draft.removed:
        remove_shift(session, actor, shift_id, now=now)
    entered = tuple(
        _enter(session, actor, draft.ward_id, place, person, now)
        for place, person in enumerate(draft.people)
    )
    _require_one_place_at_a_time(session, draft.ward_id, entered)
    if draft.limits is not None:
        _require_possible(draft.limits)
        kept = limits_at(session, draft.ward_id, now)
        limits = replace(draft.limits, use_learnt=kept.use_learnt)
        _save_limits(session, actor, draft.ward_id, kept, limits, now)
    session.touch(draft.ward_id)
    return entered


def use_learnt(
    session: WriteSession, actor: Actor, ward_id: str, *, learnt: bool, now: datetime
) -> None:
    """Have plans of a ward count with its own recorded minutes, or with the policy's again.

    Raises `Forbidden`, `NotFound`.
    """
    require(actor, Act.USE_LEARNT, ward_id)
    read_ward(session, actor, ward_id)
    kept = limits_at(session, ward_id, now)
    _save_limits(session, actor, ward_id, kept, replace(kept, use_learnt=learnt), now)
    session.touch(ward_id)


def read_limits(session: ReadSession, actor: Actor, ward_id: str, *, now: datetime) -> WardLimits:
    """Answer what a ward allows at once."""
    require(actor, Act.READ, ward_id)
    return limits_at(session, ward_id, now)


def _save_limits(
    session: WriteSession,
    actor: Actor,
    ward_id: str,
    kept: WardLimits,
    limits: WardLimits,
    now: datetime,
) -> None:
    """Save what a ward allows where it is another, and note which of it changed."""
    changed: list[str] = [
        one.name for one in fields(limits) if getattr(limits, one.name) != getattr(kept, one.name)
    ]
    if not changed:
        return
    save_limits(session, ward_id, limits, from_at=now, by=actor.id)
    subject, detail = Subject(SubjectKind.WARD, ward_id), {"changed": changed}
    note(
        session,
        actor,
        AuditAct.LIMITS_CHANGED,
        subject,
        now=now,
        ward_id=ward_id,
        detail=detail,
    )


def _enter(
    session: WriteSession,
    actor: Actor,
    ward_id: str,
    place: int,
    person: PersonDay,
    now: datetime,
) -> Shift:
    """Enter one person's shift; a refusal names the person's place."""
    try:
        nurse_of_ward(session, "staff_id", person.shift.staff_id, ward_id)
        shift = enter_shift(session, actor, replace(person.shift, ward_id=ward_id), now=now)
        _require_sound(shift, person.work)
        _require_short("skills", person.training.skills if person.training else ())
    except Invalid as wrong:
        raise Invalid(f"people.{place}.{wrong.field}", wrong.message) from wrong
    save_shift_work(session, shift.id, person.work)
    if person.training is not None:
        _save_training(session, actor, shift, person.training, now)
    return shift


def _save_training(
    session: WriteSession, actor: Actor, shift: Shift, training: Training, now: datetime
) -> None:
    """Save what somebody is trained for, and note it where it is another than before."""
    staff_id = shift.staff_id
    was = read_training(session, [staff_id]).get(staff_id, Training())
    save_training(session, staff_id, training)
    if training == was:
        return
    subject, detail = Subject(SubjectKind.STAFF, staff_id), {"changed": ["training"]}
    note(
        session,
        actor,
        AuditAct.STAFF_CHANGED,
        subject,
        now=now,
        ward_id=shift.ward_id,
        detail=detail,
    )


def _require_sound(shift: Shift, work: ShiftWork) -> None:
    """Refuse duties outside the shift, across each other, or without a name."""
    here = Period(shift.starts_at, shift.ends_at)
    _require_short("beds", work.beds)
    for place, duty in enumerate(work.duties):
        field = f"duties.{place}"
        if not duty.name.strip() or len(duty.name) > LONGEST_NAME:
            raise Invalid(f"{field}.name", f"is empty or long; expected up to {LONGEST_NAME} signs")
        if duty.period.until_at <= duty.period.from_at:
            raise Invalid(f"{field}.until_at", "is not after its beginning")
        if duty.period.from_at < here.from_at or duty.period.until_at > here.until_at:
            raise Invalid(f"{field}.from_at", "lies outside the shift; expected a time inside it")
    for before, after in pairwise(sorted(duty.period for duty in work.duties)):
        if before.overlaps(after):
            raise Invalid("duties", "overlap; expected one duty at a time")


def _require_short(field: str, names: Iterable[str]) -> None:
    """Refuse a list of names that are blank or long, or too many of them."""
    listed = tuple(names)
    if len(listed) > MOST_NAMES or any(not 0 < len(one.strip()) <= LONGEST_NAME for one in listed):
        raise Invalid(field, f"expected at most {MOST_NAMES} names of up to {LONGEST_NAME} signs")


def _require_one_place_at_a_time(
    session: ReadSession, ward_id: str, entered: tuple[Shift, ...]
) -> None:
    """Refuse two shifts of one person at once."""
    for place, one in enumerate(entered):
        meanwhile = shifts_between(session, ward_id, one.starts_at, one.ends_at)
        if any(other.id != one.id and other.staff_id == one.staff_id for other in meanwhile):
            raise Invalid(f"people.{place}.starts_at", "overlaps another shift of the same person")


def _require_possible(limits: WardLimits) -> None:
    for name in _AT_ONCE:
        require_within(name, getattr(limits, name), MOST_AT_ONCE)
    for place, window in enumerate(limits.handovers):
        if window.from_time == window.until_time:
            message = "is the time at which it begins; expected a later one"
            raise Invalid(f"handovers.{place}.until_time", message)
