"""Every clock as last worked out: derived, and what breaches are listed from."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final

from sqlalchemy import bindparam, delete, select

from server.domain.words import ClockName, ClockState, Component
from server.store.sessions import AnyRow, ReadSession, WriteSession
from server.store.statements import IDS, columns_for, in_chunks, one_of, upsert, values_of
from server.store.tables import CLOCK_STATE


@dataclass(frozen=True, slots=True)
class ClockRecord:
    """One clock of an episode; `breached_at` is its limit if the limit was not kept.

    `nurse_id` had the unit at the limit, or has it now where there is none yet. `cause` is what
    somebody gave for the breach, None while it is open.
    """

    episode_id: str
    ward_id: str
    clock: ClockName
    n: int
    opens_at: datetime | None
    due_at: datetime | None
    limit_at: datetime | None
    met_at: datetime | None
    state: ClockState
    breached_at: datetime | None = None
    component: Component | None = None
    nurse_id: str | None = None
    cause: str | None = None

    @property
    def key(self) -> tuple[str, str, int]:
        """What tells it from all others."""
        return (self.episode_id, self.clock, self.n)


_CLOCK: Final = CLOCK_STATE.c
_RECORDS: Final = select(*columns_for(CLOCK_STATE, ClockRecord))
_OF_EPISODES: Final = _RECORDS.where(one_of(_CLOCK.episode_id)).order_by(_CLOCK.clock, _CLOCK.n)
_REMOVAL: Final = delete(CLOCK_STATE).where(
    _CLOCK.episode_id == bindparam("of_episode"),
    _CLOCK.clock == bindparam("named"),
    _CLOCK.n == bindparam("numbered"),
)


def save_clocks(session: WriteSession, clocks: Mapping[str, Iterable[ClockRecord]]) -> int:
    """Make these all the clocks that the named episodes have; how many rows differed before."""
    present = {old.key: old for old in _each(read_clocks(session, clocks).values())}
    wanted = {new.key: new for new in _each(clocks.values())}
    changed = [new for key, new in wanted.items() if present.get(key) != new]
    gone = [_removal(key) for key in present if key not in wanted]
    session.run(_REMOVAL, gone)
    session.run(upsert(session.engine_name, CLOCK_STATE.name), [values_of(new) for new in changed])
    return len(gone) + len(changed)


def read_clocks(
    session: ReadSession, episode_ids: Iterable[str]
) -> dict[str, tuple[ClockRecord, ...]]:
    """The clocks of these episodes, by episode id; one query for every 500."""
    found: dict[str, list[ClockRecord]] = defaultdict(list)
    for chunk in in_chunks(sorted(set(episode_ids))):
        for row in session.rows(_OF_EPISODES, {IDS: chunk}):
            found[row.episode_id].append(_record(row))
    return {episode_id: tuple(records) for episode_id, records in found.items()}


def _each(groups: Iterable[Iterable[ClockRecord]]) -> Iterable[ClockRecord]:
    return (record for group in groups for record in group)


def _removal(key: Sequence[Any]) -> dict[str, Any]:
    return dict(zip(("of_episode", "named", "numbered"), key, strict=True))


def _record(row: AnyRow) -> ClockRecord:
    episode_id, ward_id, clock, n, opens_at, due_at, limit_at, met_at, state, breached_at = row[:10]
    component, nurse_id, cause = row[10:]
    return ClockRecord(
        episode_id,
        ward_id,
        ClockName(clock),
        n,
        opens_at,
        due_at,
        limit_at,
        met_at,
        ClockState(state),
        breached_at,
        component and Component(component),
        nurse_id,
        cause,
    )
