"""How many limits of wards were kept, late and missed: counted where they lie, never read.

Two indexes hold what is counted and nothing else, one of limits that were kept and one of those
that were not. A review costs what lies in its period, however long the wards have been running.
"""

from collections.abc import Iterable, Iterator, Sequence
from typing import Any, Final

from sqlalchemy import CTE, ColumnElement, Select, String, column, func, select, text, true, values

from server.domain.review.counted import RATED, TALLY_OF, Late, Tallies
from server.domain.review.rates import Tally
from server.domain.review.stretches import Stretch
from server.domain.words import ClockName, ClockState, Component
from server.store.review_stretches import asked_for, begun_minutes
from server.store.sessions import ReadSession
from server.store.tables import CLOCK_STATE

Place = tuple[str, int]
"""A ward, and the number of one of its places."""

_CLOCK: Final = CLOCK_STATE.c
# Spelt as the condition of the index is: a parameter would not be known to imply it.
_KEPT: Final = text("clock_state.state = 'met'")


def tallies_of(
    session: ReadSession, stretches: Sequence[Stretch], component: Component | None = None
) -> dict[Place, Tallies]:
    """What was owed on each ward in each place, by clock; one component or all of them."""
    found: dict[Place, Tallies] = {}
    for asked in asked_for(stretches):
        for ward_id, place, clock, tally in _counted(session, asked, component):
            tallies = found.setdefault((ward_id, place), {})
            tallies[clock] = tallies.get(clock, Tally()) + tally
    return found


def lateness_of(
    session: ReadSession, stretches: Iterable[Stretch], component: Component | None = None
) -> tuple[Late, ...]:
    """How late limits were met that were met late, in whole minutes, begun ones counted."""
    found = [
        Late(ClockName(clock), minutes, limits)
        for asked in asked_for(stretches)
        for clock, minutes, limits in session.rows(_late(asked, component))
    ]
    return tuple(found)


def _counted(
    session: ReadSession, asked: CTE, component: Component | None
) -> Iterator[tuple[str, int, ClockName, Tally]]:
    for ward_id, place, clock, count in session.rows(_kept(asked, component)):
        yield ward_id, place, ClockName(clock), Tally(met=count)
    for ward_id, place, clock, state, count in session.rows(_broken(asked, component)):
        one = TALLY_OF[ClockState(state)]
        yield (
            ward_id,
            place,
            ClockName(clock),
            Tally(late=count * one.late, missed=count * one.missed),
        )


def _kept(asked: CTE, component: Component | None) -> Select[Any]:
    """A count for each stretch and clock: each of them is one range of the index."""
    clocks = values(column("clock", String())).data([(name.value,) for name in RATED]).cte("clocks")
    counted = (
        select(func.count())
        .where(
            _CLOCK.ward_id == asked.c.ward_id,
            _CLOCK.clock == clocks.c.clock,
            _KEPT,
            _CLOCK.limit_at >= asked.c.from_at,
            _CLOCK.limit_at < asked.c.until_at,
            *_of(component),
        )
        .scalar_subquery()
    )
    each = select(asked.c.ward_id, asked.c.place, clocks.c.clock, counted)
    return each.join_from(asked, clocks, true())


def _broken(asked: CTE, component: Component | None) -> Select[Any]:
    keys = (asked.c.ward_id, asked.c.place, _CLOCK.clock, _CLOCK.state)
    listed = select(*keys, func.count()).join_from(asked, CLOCK_STATE, _breached_in(asked))
    return listed.where(*_of(component)).group_by(*keys)


def _late(asked: CTE, component: Component | None) -> Select[Any]:
    minutes = begun_minutes(_CLOCK.breached_at, _CLOCK.met_at).label("minutes")
    late = (
        select(_CLOCK.clock, minutes)
        .join_from(asked, CLOCK_STATE, _breached_in(asked))
        .where(_CLOCK.state == ClockState.MET_LATE.value, *_of(component))
        .subquery()
    )
    return select(late.c.clock, late.c.minutes, func.count()).group_by(late.c.clock, late.c.minutes)


def _breached_in(asked: CTE) -> ColumnElement[bool]:
    return (
        (_CLOCK.ward_id == asked.c.ward_id)
        & (_CLOCK.breached_at >= asked.c.from_at)
        & (_CLOCK.breached_at < asked.c.until_at)
    )


def _of(component: Component | None) -> tuple[ColumnElement[bool], ...]:
    return () if component is None else (_CLOCK.component == component.value,)
