"""Signs of life: when a job last did its work, not when it was last alive."""

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import select

from server.store.sessions import ReadSession, WriteSession
from server.store.statements import columns_for, upsert, values_of
from server.store.tables import HEARTBEAT


@dataclass(frozen=True, slots=True)
class Beat:
    """A job did its work at `at`."""

    name: str
    at: datetime
    detail: str | None = None


def keep_beat(session: WriteSession, beat: Beat) -> None:
    """Note that a job did its work."""
    session.run(upsert(session.engine_name, HEARTBEAT.name), values_of(beat))


def last_beat(session: ReadSession, name: str) -> Beat | None:
    """When a job last did its work, None if it never did."""
    row = session.row(select(*columns_for(HEARTBEAT, Beat)).where(HEARTBEAT.c.name == name))
    return None if row is None else Beat(*row)
