"""Which process has the lead of a PostgreSQL database, and whether anybody ticks."""

from datetime import datetime
from typing import Final

from sqlalchemy import text

from server.services.tick import HEARTBEAT
from server.store.heartbeat import last_beat
from server.store.lead import LEAD_KEY
from server.store.store import Store

_LEADERS: Final = text(
    "SELECT a.application_name FROM pg_locks l JOIN pg_stat_activity a USING (pid) "
    "WHERE l.locktype = 'advisory' AND l.objid = :key AND l.granted"
)


def leaders(store: Store) -> list[int]:
    """The processes that the server takes for the leader: one, or none for a moment."""
    with store.read() as session:
        rows = session.rows(_LEADERS, {"key": LEAD_KEY})
    return [int(str(name).rpartition("-")[2]) for (name,) in rows]


def has_ticked_since(store: Store, at: datetime) -> bool:
    """Whether a tick came after an instant."""
    with store.read() as session:
        beat = last_beat(session, HEARTBEAT)
    return beat is not None and beat.at > at
