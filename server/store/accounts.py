"""The units that came to a ward in a period, with what is recorded of each; from derived rows.

A period costs what lies in it: indexes lead to its units, and from them to all else. A unit comes
with its issue or, where no issue was recorded, with its start.
"""

from collections.abc import Iterable, Iterator
from datetime import datetime
from typing import Any, Final, NamedTuple

from sqlalchemy import Select, String, and_, bindparam, case, func, or_, select

from server.domain.account import UnitRecord
from server.domain.encoding import read_instant
from server.domain.issued_units import IssuedUnit
from server.domain.words import ClockName, Component, Fate, Kind
from server.store.columns import UtcDateTime
from server.store.requests import component_asked
from server.store.sessions import AnyRow, ReadSession
from server.store.statements import IDS, columns_for, in_chunks, one_of
from server.store.tables import CLOCK_STATE, EPISODE, EPISODE_STATE, EVENT, ISSUED_UNIT

_STATE: Final = EPISODE_STATE.c
_BAG: Final = ISSUED_UNIT.c
_CLOCK: Final = CLOCK_STATE.c
_FROM: Final = bindparam("from_at", type_=UtcDateTime())
_UNTIL: Final = bindparam("until", type_=UtcDateTime())

_LIMITS: Final = {
    ClockName.START.value: "start_limit_at",
    ClockName.RETURN.value: "return_limit_at",
    ClockName.FINISH.value: "finish_limit_at",
    ClockName.FATE.value: "fate_limit_at",
}
_IN_PERIOD: Final = and_(
    _STATE.ward_id == bindparam("of_ward", type_=String()),
    or_(
        and_(_STATE.issued_at >= _FROM, _STATE.issued_at < _UNTIL),
        and_(_STATE.issued_at.is_(None), _STATE.started_at >= _FROM, _STATE.started_at < _UNTIL),
    ),
)
_CAME_AT: Final = func.coalesce(_STATE.issued_at, _STATE.started_at)
_OPEN: Final = _STATE.fate.is_(None)
_LACKS: Final = or_(_BAG.number.is_(None), _BAG.product_code.is_(None), _STATE.issued_at.is_(None))
_WITH_BAG: Final = EPISODE_STATE.outerjoin(ISSUED_UNIT, _BAG.episode_id == _STATE.episode_id)

_TALLY: Final = (
    select(
        func.count(),
        func.coalesce(func.sum(case((_OPEN, 1), else_=0)), 0),
        func.coalesce(func.sum(case((_BAG.number.is_(None), 1), else_=0)), 0),
    )
    .select_from(_WITH_BAG)
    .where(_IN_PERIOD)
)
_ALL: Final = select(_STATE.episode_id).where(_IN_PERIOD).order_by(_CAME_AT, _STATE.episode_id)
_SETTLED: Final = (
    select(_STATE.episode_id)
    .select_from(_WITH_BAG)
    .where(_IN_PERIOD, ~_OPEN)
    .order_by(case((_LACKS, 0), else_=1), _CAME_AT.desc(), _STATE.episode_id)
    .limit(bindparam("most"))
    .offset(bindparam("first"))
)
_UNITS: Final = (
    select(
        *(_STATE[name] for name in ("episode_id", "ward_id", "patient_id", "bed")),
        EPISODE.c.component,
        *(_STATE[name] for name in ("issued_at", "started_at", "ended_at", "fate", "fate_at")),
        *(_BAG[name] for name in ("number", "product_code", "division")),
    )
    .select_from(_WITH_BAG)
    .join(EPISODE, EPISODE.c.id == _STATE.episode_id)
    .where(one_of(_STATE.episode_id))
)
_OF_CLOCKS: Final = select(_CLOCK.episode_id, _CLOCK.clock, _CLOCK.limit_at).where(
    one_of(_CLOCK.episode_id), _CLOCK.clock.in_(list(_LIMITS)), _CLOCK.n == 1
)
_ISSUES: Final = (
    select(EVENT.c.episode_id, EVENT.c.happened_at, EVENT.c.payload)
    .where(one_of(EVENT.c.episode_id), EVENT.c.kind == Kind.ISSUED.value)
    .order_by(EVENT.c.position)
)
_OTHER: Final = ISSUED_UNIT.alias("other")
_SHARING: Final = (
    select(*(_OTHER.c[column.name] for column in columns_for(ISSUED_UNIT, IssuedUnit)))
    .select_from(EPISODE_STATE)
    .join(ISSUED_UNIT, _BAG.episode_id == _STATE.episode_id)
    .join(_OTHER, _OTHER.c.number == _BAG.number)
    .where(_IN_PERIOD)
    .distinct()
)


class Tally(NamedTuple):
    """How many units came in a period, how many of them have no fate, how many no number."""

    units: int
    without_fate: int
    without_number: int


def tally_units(session: ReadSession, ward_id: str, from_at: datetime, until: datetime) -> Tally:
    """Count the units that came to a ward in `from_at` <= came < `until`."""
    row = session.row(_TALLY, _period(ward_id, from_at, until))
    return Tally(0, 0, 0) if row is None else Tally(*map(int, row))


def unit_ids(
    session: ReadSession,
    ward_id: str,
    from_at: datetime,
    until: datetime,
    *,
    without_fate: bool = False,
) -> tuple[str, ...]:
    """The units that came in the period, the earliest first; all, or those that have no fate."""
    wanted = _ALL.where(_OPEN) if without_fate else _ALL
    return _ids(session, wanted, _period(ward_id, from_at, until))


def settled_unit_ids(
    session: ReadSession, ward_id: str, from_at: datetime, until: datetime, *, first: int, most: int
) -> tuple[str, ...]:
    """At most `most` units with a fate from the `first` on: incomplete records, then the newest."""
    wanted = _period(ward_id, from_at, until) | {"first": first, "most": most}
    return _ids(session, _SETTLED, wanted)


def read_units(session: ReadSession, episode_ids: Iterable[str]) -> Iterator[UnitRecord]:
    """What is recorded of these units, in their order; three queries for every 500."""
    for chunk in in_chunks(episode_ids):
        limits = _limits_of(session, chunk)
        removals = _removals_of(session, chunk)
        found = {row.episode_id: row for row in session.rows(_UNITS, {IDS: chunk})}
        for one in (found[episode_id] for episode_id in chunk if episode_id in found):
            component = component_asked(session, one.episode_id, one.component)
            yield _unit(one, component, limits.get(one.episode_id, {}), removals)


def bags_of_shared_numbers(
    session: ReadSession, ward_id: str, from_at: datetime, until: datetime
) -> tuple[IssuedUnit, ...]:
    """The bags of any ward that bear a number of a unit that came to this ward in the period."""
    rows = session.rows(_SHARING, _period(ward_id, from_at, until))
    return tuple(IssuedUnit(*row) for row in rows)


def _ids(
    session: ReadSession, wanted: Select[tuple[str]], parameters: dict[str, Any]
) -> tuple[str, ...]:
    return tuple(row[0] for row in session.rows(wanted, parameters))


def _period(ward_id: str, from_at: datetime, until: datetime) -> dict[str, Any]:
    return {"of_ward": ward_id, "from_at": from_at, "until": until}


def _limits_of(session: ReadSession, ids: list[str]) -> dict[str, dict[str, datetime | None]]:
    found: dict[str, dict[str, datetime | None]] = {}
    for episode_id, clock, limit_at in session.rows(_OF_CLOCKS, {IDS: ids}):
        found.setdefault(episode_id, {})[_LIMITS[clock]] = limit_at
    return found


def _removals_of(session: ReadSession, ids: list[str]) -> dict[tuple[str, datetime], Any]:
    """The removal that each issue names; of two issues at one instant the later record counts."""
    rows = session.rows(_ISSUES, {IDS: ids})
    return {(row[0], row[1]): row[2].get("removed_at") for row in rows}


def _unit(
    row: AnyRow,
    component: Component,
    limits: dict[str, datetime | None],
    removals: dict[tuple[str, datetime], Any],
) -> UnitRecord:
    facts = row._asdict() | limits | {"component": component}
    facts["fate"] = None if facts["fate"] is None else Fate(facts["fate"])
    # The derived row counts from the issue where nobody named a removal; here that is a gap.
    named = removals.get((row.episode_id, row.issued_at))
    facts["removed_at"] = None if named is None else read_instant(named)
    return UnitRecord(**facts)
