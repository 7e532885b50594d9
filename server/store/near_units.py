"""The units of a ward that were started in a period."""

from datetime import datetime
from typing import Final

from sqlalchemy import bindparam, select

from server.store.sessions import ReadSession
from server.store.tables import EPISODE_STATE

_STATE: Final = EPISODE_STATE.c
_STARTED: Final = (
    select(_STATE.episode_id)
    .where(
        _STATE.ward_id == bindparam("of_ward"),
        _STATE.started_at.is_not(None),
        _STATE.started_at >= bindparam("from_at", type_=_STATE.started_at.type),
        _STATE.started_at < bindparam("until_at", type_=_STATE.started_at.type),
    )
    .order_by(_STATE.started_at, _STATE.episode_id)
)


def started_episode_ids(
    session: ReadSession, ward_id: str, from_at: datetime, until_at: datetime
) -> tuple[str, ...]:
    """The units started from one instant on until just before another, the earliest first."""
    asked = {"of_ward": ward_id, "from_at": from_at, "until_at": until_at}
    return tuple(row[0] for row in session.rows(_STARTED, asked))
