"""How many limits of wards were kept, late and missed: counted where they lie, never read.

Two indexes hold what is counted and nothing else, one of limits that were kept and one of those
that were not. A review costs what lies in its period, however long the wards have been running.
"""

from collections.abc import Iterable, Iterator
from functools import cache
from typing import Any, Final

from sqlalchemy import CTE, ColumnElement, Select, and_, func, select, text

from server.domain.review.counted import RATED, TALLY_OF, Late, Tallies
from server.domain.review.rates import Tally
from server.domain.review.stretches import Stretch
from server.domain.words import ClockName, ClockState, Component
from server.store.review_stretches import asked, asked_for, begun_minutes, counted, found_in
from server.store.sessions import ReadSession
from server.store.tables import CLOCK_STATE

Place = tuple[str, int]
"""A ward, and the number of one of its places."""

_CLOCK: Final = CLOCK_STATE.c
# Spelt as the condition of the index is: a parameter would not be known to imply it.
_KEPT: Final = text("clock_state.state = 'met'")


def tallies_of(
    session: ReadSession, stretches: Iterable[Stretch], component: Component | None = None
) -> dict[Place, Tallies]:
    """What was owed on each ward in each place, by clock; one component or all of them."""
    found: dict[Place, Tallies] = {}
    for place, clock, tally in _counted(session, asked_for(stretches), component):
        tallies = found.setdefault(place, {})
        tallies[clock] = tallies.get(clock, Tally()) + tally
    return found


def lateness_of(
    session: ReadSession, stretches: Iterable[Stretch], component: Component | None = None
) -> tuple[Late, ...]:
    """How late limits were met that were met late, in whole minutes, begun ones counted."""
    rows = session.rows(_late(session.engine_name, component), asked_for(stretches))
    return tuple(Late(ClockName(clock), minutes, limits) for clock, minutes, limits in rows)


def _counted(
    session: ReadSession, given: dict[str, str], component: Component | None
) -> Iterator[tuple[Place, ClockName, Tally]]:
    engine = session.engine_name
    for ward_id, place, *counts in session.rows(_kept(engine, component), given):
        for clock, count in zip(RATED, counts, strict=True):
            if count:
                yield (ward_id, place), clock, Tally(met=count)
    for ward_id, place, clock, state, count in session.rows(_broken(engine, component), given):
        each = TALLY_OF[ClockState(state)]
        tally = Tally(late=count * each.late, missed=count * each.missed)
        yield (ward_id, place), ClockName(clock), tally


@cache
def _kept(engine_name: str, component: Component | None) -> Select[Any]:
    """A row for each stretch with a count for each clock: a range of the index each."""
    table = asked(engine_name)
    counts = (_kept_of(table, clock, component) for clock in RATED)
    return select(table.c.ward_id, table.c.place, *counts)


def _kept_of(table: CTE, clock: ClockName, component: Component | None) -> ColumnElement[int]:
    lies_there = and_(
        _CLOCK.ward_id == table.c.ward_id,
        _CLOCK.clock == clock.value,
        _KEPT,
        _CLOCK.limit_at >= table.c.from_at,
        _CLOCK.limit_at < table.c.until_at,
        *_of(component),
    )
    return select(func.count()).where(lies_there).correlate(table).scalar_subquery()


@cache
def _broken(engine_name: str, component: Component | None) -> Select[Any]:
    broken = (_CLOCK.clock, _CLOCK.state)
    found = _breached_in(engine_name, component, broken)
    return counted(found, "ward_id", "place", "clock", "state")


@cache
def _late(engine_name: str, component: Component | None) -> Select[Any]:
    minutes = begun_minutes(_CLOCK.breached_at, _CLOCK.met_at).label("minutes")
    met_late = _CLOCK.state == ClockState.MET_LATE.value
    found = _breached_in(engine_name, component, (_CLOCK.clock, minutes), met_late)
    return counted(found, "clock", "minutes")


def _breached_in(
    engine_name: str,
    component: Component | None,
    fields: tuple[ColumnElement[Any], ...],
    *more: ColumnElement[bool],
) -> Select[Any]:
    table = asked(engine_name)
    lies_in = and_(
        _CLOCK.ward_id == table.c.ward_id,
        _CLOCK.breached_at >= table.c.from_at,
        _CLOCK.breached_at < table.c.until_at,
        *_of(component),
        *more,
    )
    return found_in(engine_name, CLOCK_STATE, lies_in, fields)


def _of(component: Component | None) -> tuple[ColumnElement[bool], ...]:
    return () if component is None else (_CLOCK.component == component.value,)
