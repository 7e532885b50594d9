"""Raise the reminders that a unit owes, each once, addressed to whoever has to know."""

from collections.abc import Iterable
from datetime import datetime

from server.domain.clock import Clock
from server.domain.picture import Picture
from server.domain.reminders import Reminder, acknowledgement_of
from server.domain.words import Role, Stage
from server.services.errors import NotFound
from server.store.ids import new_id
from server.store.reminders import RaisedReminder, raise_reminders, reminders_of_episodes
from server.store.sessions import ReadSession, WriteSession
from server.store.shifts import shifts_between
from server.store.staff import list_staff
from server.store.wards import read_ward

NEXT_CONTACT = "next_contact"


def raise_owed(session: WriteSession, pictures: Iterable[Picture], *, now: datetime) -> int:
    """Raise what these units owe at `now` and was not raised before; how many were.

    A record that was read in from elsewhere reminds nobody: its time is past.
    """
    live = [looked for looked in pictures if not looked.case.request.history and looked.reminders]
    raised = reminders_of_episodes(session, [looked.case.request.id for looked in live])
    fresh = [
        _addressed(session, looked, reminder, now)
        for looked in live
        for reminder in looked.reminders
        if _identity(reminder) not in {_identity(old) for old in raised.get(_id(looked), ())}
    ]
    return len(raise_reminders(session, fresh))


def _id(looked: Picture) -> str:
    return looked.case.request.id


def _identity(reminder: Reminder | RaisedReminder) -> tuple[object, ...]:
    """What the database allows once; a correction that moves the clock makes it another."""
    return (reminder.clock, reminder.n, reminder.stage, reminder.repeat, reminder.owed_at)


def _addressed(
    session: ReadSession, looked: Picture, reminder: Reminder, now: datetime
) -> RaisedReminder:
    clock = next(c for c, _ in looked.clocks if (c.name, c.n) == (reminder.clock, reminder.n))
    acknowledged = _acknowledged(looked, clock)
    return RaisedReminder(
        id=new_id(),
        ward_id=looked.case.request.ward_id,
        episode_id=looked.case.request.id,
        clock=reminder.clock,
        n=reminder.n,
        stage=reminder.stage,
        repeat=reminder.repeat,
        owed_at=reminder.owed_at,
        raised_at=now,
        to=_recipient(session, looked, reminder.stage, now),
        acknowledged_at=acknowledged[0],
        acknowledged_by=acknowledged[1],
    )


def _acknowledged(looked: Picture, clock: Clock) -> tuple[datetime | None, str | None]:
    given = acknowledgement_of(clock, looked.standing)
    return (None, None) if given is None else (given.at, given.staff_id)


def _recipient(session: ReadSession, looked: Picture, stage: Stage, now: datetime) -> str:
    """The nurse who has the unit; after the limit the charge nurse, then the next contact."""
    ward_id = looked.case.request.ward_id
    if stage is Stage.SECOND_ESCALATE:
        ward = read_ward(session, ward_id)
        if ward is None:
            raise NotFound("the ward")
        return ward.next_contact or NEXT_CONTACT
    nurse_id = looked.episode.nurse_id
    if stage is Stage.ESCALATE or nurse_id is None:
        return _charge_nurse(session, ward_id, now)
    return nurse_id


def _charge_nurse(session: ReadSession, ward_id: str, now: datetime) -> str:
    """The charge nurse on duty; with none on the plan, whoever is in charge."""
    in_charge = {
        staff.id
        for staff in list_staff(session, [ward_id])
        if staff.role is Role.CHARGE_NURSE and staff.active
    }
    on_duty = [
        shift.staff_id
        for shift in shifts_between(session, ward_id, now, now.replace(microsecond=1))
        if shift.staff_id in in_charge
    ]
    return on_duty[0] if on_duty else Role.CHARGE_NURSE.value
