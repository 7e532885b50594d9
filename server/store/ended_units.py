"""The units of a ward that came to their end in a period."""

from datetime import datetime
from typing import Final

from sqlalchemy import bindparam, or_, select

from server.store.sessions import ReadSession
from server.store.tables import EPISODE_STATE

_STATE: Final = EPISODE_STATE.c
_INSTANT: Final = _STATE.ended_at.type
_FROM: Final = bindparam("from_at", type_=_INSTANT)
# A unit leaves the board after it has ended: that is what the index knows.
_ENDED: Final = (
    select(_STATE.episode_id)
    .where(
        _STATE.ward_id == bindparam("of_ward"),
        or_(_STATE.open_until.is_(None), _STATE.open_until >= _FROM),
        _STATE.ended_at >= _FROM,
        _STATE.ended_at < bindparam("until_at", type_=_INSTANT),
    )
    .order_by(_STATE.ended_at.desc(), _STATE.episode_id)
    .limit(bindparam("most"))
)


def ended_episode_ids(
    session: ReadSession, ward_id: str, from_at: datetime, until_at: datetime, *, most: int
) -> tuple[str, ...]:
    """The units that ended from one instant on until just before another, the latest first."""
    asked = {"of_ward": ward_id, "from_at": from_at, "until_at": until_at, "most": most}
    return tuple(row[0] for row in session.rows(_ENDED, asked))
