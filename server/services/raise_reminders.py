"""Raise the reminders that a unit owes, each once, addressed to whoever has to know."""

from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime

from server.domain.clock import SECOND, Clock
from server.domain.cover import Cover, who_answers
from server.domain.picture import Picture
from server.domain.reminders import Reminder, acknowledgement_of
from server.domain.words import Role, Stage
from server.store import reminders as stored
from server.store.covers import covers_between
from server.store.ids import new_id
from server.store.reminders import RaisedReminder, raise_reminders, reminders_of_episodes
from server.store.sessions import ReadSession, WriteSession
from server.store.shifts import staff_on_duty
from server.store.wards import read_ward

NEXT_CONTACT = "next_contact"


def raise_owed(session: WriteSession, pictures: Iterable[Picture], *, now: datetime) -> int:
    """Raise what these units owe at `now` and was not raised before; how many were.

    A record that was read in from elsewhere reminds nobody: its time is past.
    """
    live = [(looked, looked.reminders) for looked in pictures if not looked.case.request.history]
    owing = [looked.case.request.id for looked, owed in live if owed]
    raised = reminders_of_episodes(session, owing)
    recipients = _Recipients(session, now)
    fresh = [
        _addressed(recipients, looked, reminder, now)
        for looked, owed in live
        for reminder in _without(owed, raised.get(looked.case.request.id, ()))
    ]
    return len(raise_reminders(session, fresh))


def note_acknowledgements(session: WriteSession, looked: Picture) -> None:
    """Have the raised reminders of a unit say who has their clock, or that nobody has it now."""
    request = looked.case.request
    clocks = {(clock.name, clock.n): clock for clock, _ in looked.clocks}
    raised = reminders_of_episodes(session, [request.id]).get(request.id, ())
    changed = []
    for old in raised:
        clock = clocks.get((old.clock, old.n))
        at, by = (None, None) if clock is None else _acknowledged(looked, clock)
        new = replace(old, acknowledged_at=at, acknowledged_by=by)
        if new != old:
            changed.append(new)
    stored.note_acknowledgements(session, request.ward_id, request.id, changed)


def _without(owed: Iterable[Reminder], raised: Iterable[RaisedReminder]) -> list[Reminder]:
    known = {_identity(old) for old in raised}
    return [reminder for reminder in owed if _identity(reminder) not in known]


def _identity(reminder: Reminder | RaisedReminder) -> tuple[object, ...]:
    """What the database allows once; a correction that moves the clock makes it another."""
    return (reminder.clock, reminder.n, reminder.stage, reminder.repeat, reminder.owed_at)


def _addressed(
    recipients: "_Recipients", looked: Picture, reminder: Reminder, now: datetime
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
        to=recipients.of(looked, reminder.stage),
        acknowledged_at=acknowledged[0],
        acknowledged_by=acknowledged[1],
    )


def _acknowledged(looked: Picture, clock: Clock) -> tuple[datetime | None, str | None]:
    given = acknowledgement_of(clock, looked.standing)
    return (None, None) if given is None else (given.at, given.staff_id)


class _Recipients:
    """Who has to know on each ward at an instant, asked once for however many reminders."""

    def __init__(self, session: ReadSession, now: datetime) -> None:
        self._session = session
        self._now = now
        self._in_charge: dict[str, str] = {}
        self._contacts: dict[str, str] = {}
        self._covers: dict[str, tuple[Cover, ...]] = {}

    def of(self, looked: Picture, stage: Stage) -> str:
        """The nurse who has the unit; after the limit the charge nurse, then the next contact.

        For a nurse who is covered, whoever covers.
        """
        ward_id, nurse_id = looked.case.request.ward_id, looked.episode.nurse_id
        if stage is Stage.SECOND_ESCALATE:
            if ward_id not in self._contacts:
                self._contacts[ward_id] = _next_contact(self._session, ward_id)
            return self._contacts[ward_id]
        if stage is Stage.ESCALATE or nurse_id is None:
            nurse_id = self._in_charge_of(ward_id)
        return who_answers(nurse_id, self._covers_of(ward_id), self._now)

    def _in_charge_of(self, ward_id: str) -> str:
        if ward_id not in self._in_charge:
            self._in_charge[ward_id] = _charge_nurse(self._session, ward_id, self._now)
        return self._in_charge[ward_id]

    def _covers_of(self, ward_id: str) -> tuple[Cover, ...]:
        if ward_id not in self._covers:
            until = self._now + SECOND
            self._covers[ward_id] = covers_between(self._session, [ward_id], self._now, until)
        return self._covers[ward_id]


def _next_contact(session: ReadSession, ward_id: str) -> str:
    ward = read_ward(session, ward_id)
    return (ward and ward.next_contact) or NEXT_CONTACT


def _charge_nurse(session: ReadSession, ward_id: str, now: datetime) -> str:
    """The charge nurse on duty; with none on the plan, whoever is in charge."""
    on_duty = staff_on_duty(session, ward_id, Role.CHARGE_NURSE, now)
    return on_duty or Role.CHARGE_NURSE.value
