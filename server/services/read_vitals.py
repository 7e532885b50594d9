"""How the board itself does, in figures: for whoever keeps it running."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from server.services.actor import Actor
from server.services.permissions import Act, require
from server.services.tick import HEARTBEAT
from server.store.heartbeat import last_beat
from server.store.sessions import ReadSession
from server.store.vitals import delays_since, messages_waiting, units_due, units_set_aside

LOOK_BACK: Final = timedelta(minutes=5)


@dataclass(frozen=True, slots=True)
class Vitals:
    """Figures of one moment; ages and delays in seconds.

    `tick_age` is None while no tick has ever succeeded. `lag` is for how long the unit has been due
    that waits longest for a tick, `reminder_delay` by how much the latest reminder of the last five
    minutes came after it was owed, `message_age` how long the oldest message to a webhook waits.
    """

    tick_age: float | None
    due: int
    lag: float
    set_aside: int
    reminders: int
    reminder_delay: float
    messages: int
    message_age: float


def read_vitals(session: ReadSession, actor: Actor, *, now: datetime) -> Vitals:
    """Answer the figures. Raises `Forbidden`."""
    require(actor, Act.WATCH)
    return vitals_of(session, now)


def vitals_of(session: ReadSession, now: datetime) -> Vitals:
    """The figures, for whoever asks in the name of the program itself."""
    beat = last_beat(session, HEARTBEAT)
    due, waiting = units_due(session, now), messages_waiting(session)
    delays = delays_since(session, now - LOOK_BACK)
    return Vitals(
        tick_age=None if beat is None else _seconds(beat.at, now),
        due=due.count,
        lag=_seconds(due.since, now),
        set_aside=units_set_aside(session),
        reminders=len(delays),
        reminder_delay=max(delays, default=0.0),
        messages=waiting.count,
        message_age=_seconds(waiting.since, now),
    )


def _seconds(since: datetime | None, now: datetime) -> float:
    return 0.0 if since is None else max(0.0, (now - since).total_seconds())
