"""Whether the board can be relied on: the database answers, and the clocks are being checked."""

from dataclasses import dataclass
from datetime import datetime, timedelta

from server.services.tick import HEARTBEAT
from server.store.errors import Away
from server.store.heartbeat import last_beat
from server.store.store import Store


@dataclass(frozen=True, slots=True)
class Readiness:
    """`failing` names what fails, `database` or `tick`; None: nothing does."""

    failing: str | None
    detail: str
    last_tick_at: datetime | None = None


def read_readiness(store: Store, *, now: datetime, stale_after: timedelta) -> Readiness:
    """Look at the last successful tick, not at whether something runs that should tick."""
    try:
        with store.read() as session:
            beat = last_beat(session, HEARTBEAT)
    except Away:
        return Readiness("database", "The database does not answer.")
    if beat is None:
        return Readiness("tick", "No tick has succeeded since this database was made.")
    if now - beat.at > stale_after:
        seconds = int((now - beat.at).total_seconds())
        return Readiness("tick", f"The last tick succeeded {seconds} s ago.", beat.at)
    return Readiness(None, "", beat.at)
