"""How many units of wards were started at night, and how limits of those were kept: counted."""

from collections.abc import Iterable, Mapping
from functools import cache
from typing import Any, Final

from sqlalchemy import ColumnElement, Select, case, select

from server.domain.review.counted import TALLY_OF, Begun, Tallies
from server.domain.review.rates import Tally
from server.domain.review.stretches import Stretch
from server.domain.words import ClockName, Component, Priority
from server.store.review_stretches import NightHours, asked, asked_for, counted, is_night
from server.store.review_units import units_in
from server.store.sessions import ReadSession
from server.store.tables import CLOCK_STATE, EPISODE_STATE

_STATE: Final = EPISODE_STATE.c


def starts_of(
    session: ReadSession,
    stretches: Iterable[Stretch],
    nights: Mapping[str, NightHours],
    component: Component | None = None,
) -> tuple[Begun, ...]:
    """How many units were started in these stretches, by day and in each ward's `nights`."""
    rows = session.rows(_starts(session.engine_name, component), asked_for(stretches, nights))
    return tuple(
        Begun(place, bool(routine), bool(at_night), units)
        for place, routine, at_night, units in rows
    )


def tallies_at_night(
    session: ReadSession,
    stretches: Iterable[Stretch],
    nights: Mapping[str, NightHours],
    clocks: Iterable[ClockName],
    component: Component | None = None,
) -> Tallies:
    """How clocks that a unit has once were kept for units that were started in a ward's night."""
    found = Tallies()
    named = tuple(clocks)
    statement = _kept(session.engine_name, named, component)
    for *states, count in session.rows(statement, asked_for(stretches, nights)):
        for clock, state in zip(named, states, strict=True):
            each = TALLY_OF.get(state, Tally())
            tally = Tally(count * each.met, count * each.late, count * each.missed)
            found[clock] = found.get(clock, Tally()) + tally
    return found


@cache
def _starts(engine_name: str, component: Component | None) -> Select[Any]:
    fields = (
        case((_STATE.priority == Priority.ROUTINE.value, 1), else_=0).label("routine"),
        case((is_night(_STATE.started_at, asked(engine_name)), 1), else_=0).label("at_night"),
    )
    found = units_in(engine_name, _STATE.started_at, fields, component)
    return counted(found, "place", "routine", "at_night")


@cache
def _kept(
    engine_name: str, clocks: tuple[ClockName, ...], component: Component | None
) -> Select[Any]:
    """How the clocks of a unit stand, read by their key."""
    at_night = is_night(_STATE.started_at, asked(engine_name))
    states = tuple(_state_of(clock).label(clock.value) for clock in clocks)
    found = units_in(engine_name, _STATE.started_at, states, component, at_night)
    return counted(found, *(clock.value for clock in clocks))


def _state_of(clock: ClockName) -> ColumnElement[str]:
    once = (
        CLOCK_STATE.c.episode_id == _STATE.episode_id,
        CLOCK_STATE.c.clock == clock.value,
        CLOCK_STATE.c.n == 1,
    )
    return select(CLOCK_STATE.c.state).where(*once).correlate(EPISODE_STATE).scalar_subquery()
