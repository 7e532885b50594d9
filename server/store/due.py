"""The row is the queue: which episodes may have changed by time alone."""

from collections.abc import Iterable
from datetime import datetime
from typing import Final, NamedTuple

from sqlalchemy import bindparam, func, select, update

from server.store.sessions import ReadSession, WriteSession
from server.store.statements import IDS, one_of
from server.store.tables import EPISODE_STATE


class Due(NamedTuple):
    """An episode to look at."""

    episode_id: str
    ward_id: str


_STATE: Final = EPISODE_STATE.c
# The comparison implies the condition of the partial index: what never changes again costs nothing.
_DUE: Final = (
    select(_STATE.episode_id, _STATE.ward_id)
    .where(_STATE.next_change_at <= bindparam("now", type_=_STATE.next_change_at.type))
    .order_by(_STATE.next_change_at, _STATE.episode_id)
    .limit(bindparam("at_most"))
)
_UNSEEN: Final = (
    select(_STATE.episode_id)
    .where(_STATE.next_change_at <= bindparam("now", type_=_STATE.next_change_at.type))
    .where(one_of(_STATE.ward_id))
    .order_by(_STATE.episode_id)
)
_FAULTY: Final = (
    select(_STATE.episode_id, _STATE.fault)
    # The condition of the partial index: what was put aside is tried again.
    .where(_STATE.next_change_at.is_not(None), _STATE.fault.is_not(None))
    .order_by(_STATE.episode_id)
)
_EARLIEST: Final = select(func.min(_STATE.next_change_at)).where(_STATE.next_change_at.is_not(None))


def episodes_due(session: ReadSession, now: datetime, *, limit: int = 1000) -> tuple[Due, ...]:
    """The episodes whose next change has come by `now`, the longest due first."""
    rows = session.rows(_DUE, {"now": now, "at_most": limit})
    return tuple(Due(*row) for row in rows)


def episodes_unseen(
    session: ReadSession, ward_ids: Iterable[str], now: datetime
) -> tuple[str, ...]:
    """The episodes of these wards whose next change has come by `now`: no tick has looked yet."""
    rows = session.rows(_UNSEEN, {"now": now, IDS: sorted(set(ward_ids))})
    return tuple(row[0] for row in rows)


def earliest_change(session: ReadSession) -> datetime | None:
    """When the first of all next changes comes, None if nothing will change by time alone."""
    earliest: datetime | None = session.value(_EARLIEST)
    return earliest


def set_fault(session: WriteSession, episode_id: str, *, fault: str, retry_at: datetime) -> None:
    """Put an episode that cannot be worked out aside until `retry_at`, and say why.

    One bad row must not hold up the others.
    """
    aside = update(EPISODE_STATE).where(_STATE.episode_id == episode_id)
    session.run(aside.values(fault=fault, next_change_at=retry_at))


def faulty_episodes(session: ReadSession) -> tuple[tuple[str, str], ...]:
    """The episodes that could not be worked out, with the reason."""
    return tuple((row[0], row[1]) for row in session.rows(_FAULTY))
