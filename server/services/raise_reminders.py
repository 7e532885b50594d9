"""Raise the reminders that a unit owes, each once, addressed to whoever has to know."""

from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime

from server.domain.clock import Clock
from server.domain.picture import Picture
from server.domain.reminders import Reminder, acknowledgement_of
from server.services.queue_deliveries import queue_deliveries
from server.services.recipients import Recipients
from server.store import reminders as stored
from server.store.deliveries import forget_deliveries_of
from server.store.ids import new_id
from server.store.reminders import (
    RaisedReminder,
    raise_again,
    raise_reminders,
    reminders_of_episodes,
)
from server.store.sessions import WriteSession


def raise_owed(session: WriteSession, pictures: Iterable[Picture], *, now: datetime) -> int:
    """Raise what these units owe at `now` and was not raised before; how many were.

    What a clock that ran ahead had raised too early is raised again, in its own row. A record that
    was read in from elsewhere reminds nobody: its time is past.
    """
    live = [(looked, looked.reminders) for looked in pictures if not looked.case.request.history]
    owing = [looked.case.request.id for looked, owed in live if owed]
    raised = reminders_of_episodes(session, owing)
    recipients = Recipients(session, now)
    fresh = [
        _addressed(recipients, looked, reminder, now)
        for looked, owed in live
        for reminder in _without(owed, raised.get(looked.case.request.id, ()))
    ]
    early = {key_of(one): one for each in raised.values() for one in each if one.is_early}
    again = [replace(one, id=early[key_of(one)].id) for one in fresh if key_of(one) in early]
    forget_deliveries_of(session, [one.id for one in again])
    raise_again(session, again)
    first = raise_reminders(session, [one for one in fresh if key_of(one) not in early])
    new = (*first, *again)
    queue_deliveries(session, new, [looked for looked, _ in live], now=now)
    return len(new)


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
    known = {identity_of(old) for old in raised if not old.is_early}
    return [reminder for reminder in owed if identity_of(reminder) not in known]


def key_of(reminder: RaisedReminder) -> tuple[object, ...]:
    """Answer the same with the unit: what tells a reminder from all others."""
    return (reminder.episode_id, *identity_of(reminder))


def identity_of(reminder: Reminder | RaisedReminder) -> tuple[object, ...]:
    """Answer what the database allows once; a correction that moves the clock makes it another."""
    return (reminder.clock, reminder.n, reminder.stage, reminder.repeat, reminder.owed_at)


def _addressed(
    recipients: Recipients, looked: Picture, reminder: Reminder, now: datetime
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
