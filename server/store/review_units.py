"""How long units of wards waited, when they were started, and what became of them: counted.

Each question walks an index of a ward from the beginning of a stretch to its end.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final

from sqlalchemy import (
    CTE,
    ColumnElement,
    Integer,
    Select,
    String,
    and_,
    case,
    column,
    func,
    literal,
    not_,
    select,
    values,
)

from server.domain.review.counted import (
    TALLY_OF,
    Begun,
    Fated,
    PlaceWaited,
    Tallies,
    Until,
    Waited,
)
from server.domain.review.rates import Tally
from server.domain.review.stretches import Stretch
from server.domain.words import ClockName, ClockState, Component, Fate, Priority
from server.store.columns import UtcDateTime
from server.store.review_stretches import (
    DAY_MINUTES,
    asked_for,
    begun_minutes,
    hour_of_day,
    minute_of_day,
)
from server.store.sessions import ReadSession
from server.store.tables import CLOCK_STATE, EPISODE_STATE

_STATE: Final = EPISODE_STATE.c
_NIGHT: Final = ("from_minute", "until_minute")
_REACHED: Final = {Until.START: _STATE.started_at, Until.END: _STATE.ended_at}


@dataclass(frozen=True, slots=True)
class NightHours:
    """When a ward's night begins and ends, in minutes since its midnight; the end is day."""

    from_minute: int
    until_minute: int


def waits_of(
    session: ReadSession,
    stretches: Iterable[Stretch],
    until: Until,
    *,
    now: datetime,
    component: Component | None = None,
) -> tuple[Waited, ...]:
    """How long it took from the issue of units in these stretches, or had not happened yet.

    A unit that was sent back or discarded before it was started is counted until then, any other
    for which it has not happened until `now`; where a clock at the bedside is ahead, as no time.
    """
    found = []
    for asked in asked_for(stretches):
        hour = hour_of_day(_STATE.issued_at, asked.c.offset_seconds).label("hour")
        waits = _waits(asked, (_STATE.component, hour), until, now, component)
        for kind, hour, minutes, happened, units in session.rows(waits):
            word = kind and Component(kind)
            found.append(Waited(word, hour, max(0, minutes), bool(happened), units))
    return tuple(found)


def waits_by_place(
    session: ReadSession,
    stretches: Iterable[Stretch],
    until: Until,
    *,
    now: datetime,
    component: Component | None = None,
) -> tuple[PlaceWaited, ...]:
    """The same for each place."""
    return tuple(
        PlaceWaited(place, max(0, minutes), bool(happened), units)
        for asked in asked_for(stretches)
        for place, minutes, happened, units in session.rows(
            _waits(asked, (asked.c.place,), until, now, component)
        )
    )


def starts_of(
    session: ReadSession,
    stretches: Iterable[Stretch],
    nights: Mapping[str, NightHours],
    component: Component | None = None,
) -> tuple[Begun, ...]:
    """How many units were started in these stretches, by day and in each ward's `nights`."""
    night = _nights(nights)
    return tuple(
        Begun(place, bool(routine), bool(at_night), units)
        for asked in asked_for(stretches)
        for place, routine, at_night, units in session.rows(_starts(asked, night, component))
    )


def tallies_at_night(
    session: ReadSession,
    stretches: Iterable[Stretch],
    nights: Mapping[str, NightHours],
    clocks: Iterable[ClockName],
    component: Component | None = None,
) -> Tallies:
    """How these clocks were kept for units that were started in each ward's night."""
    night, named, found = _nights(nights), sorted(clocks), Tallies()
    for asked in asked_for(stretches):
        for clock, state, count in session.rows(_by_night(asked, night, named, component)):
            name, each = ClockName(clock), TALLY_OF[ClockState(state)]
            tally = Tally(count * each.met, count * each.late, count * each.missed)
            found[name] = found.get(name, Tally()) + tally
    return found


def fates_of(
    session: ReadSession, stretches: Iterable[Stretch], component: Component | None = None
) -> tuple[Fated, ...]:
    """What became of the units that were issued in these stretches."""
    return tuple(
        Fated(fate and Fate(fate), bool(started), units)
        for asked in asked_for(stretches)
        for fate, started, units in session.rows(_fates(asked, component))
    )


def reassessments_of(session: ReadSession, stretches: Iterable[Stretch]) -> Tally:
    """After how many red cell units of these stretches somebody reassessed the patient.

    Of those that were started there and have ended: met where it was recorded before the patient's
    next unit of red cells was started on the ward, late where only then, missed where it was not.
    """
    found = Tally()
    for asked in asked_for(stretches):
        for met, late, missed in session.rows(_reassessed(asked)):
            found += Tally(met or 0, late or 0, missed or 0)
    return found


def _waits(
    asked: CTE,
    keys: Iterable[ColumnElement[Any]],
    until: Until,
    now: datetime,
    component: Component | None,
) -> Select[Any]:
    reached = _REACHED[until]
    left = case((_STATE.started_at.is_(None), _STATE.fate_at))
    ended = func.coalesce(reached, left, literal(now, UtcDateTime()))
    units = (
        select(
            *keys,
            begun_minutes(_STATE.issued_at, ended).label("minutes"),
            case((reached.is_not(None), 1), else_=0).label("happened"),
        )
        .join_from(asked, EPISODE_STATE, _lies_in(asked, _STATE.issued_at))
        .where(*_of(component))
    )
    return _grouped(units)


def _starts(asked: CTE, night: CTE, component: Component | None) -> Select[Any]:
    units = (
        select(
            asked.c.place,
            case((_STATE.priority == Priority.ROUTINE.value, 1), else_=0).label("routine"),
            case((_is_night(asked, night), 1), else_=0).label("at_night"),
        )
        .join_from(asked, night, night.c.ward_id == asked.c.ward_id)
        .join(EPISODE_STATE, _lies_in(asked, _STATE.started_at))
        .where(*_of(component))
    )
    return _grouped(units)


def _by_night(
    asked: CTE, night: CTE, clocks: Sequence[ClockName], component: Component | None
) -> Select[Any]:
    keys = (CLOCK_STATE.c.clock, CLOCK_STATE.c.state)
    return (
        select(*keys, func.count())
        .join_from(asked, night, night.c.ward_id == asked.c.ward_id)
        .join(EPISODE_STATE, _lies_in(asked, _STATE.started_at))
        .join(CLOCK_STATE, CLOCK_STATE.c.episode_id == _STATE.episode_id)
        .where(_is_night(asked, night), *_of(component))
        .where(CLOCK_STATE.c.clock.in_(clocks), CLOCK_STATE.c.state.in_(sorted(TALLY_OF)))
        .group_by(*keys)
    )


def _is_night(asked: CTE, night: CTE) -> ColumnElement[bool]:
    """Whether the start lies at night: as far into it as it is long, whichever day it began."""
    into = minute_of_day(_STATE.started_at, asked.c.offset_seconds) - night.c.from_minute
    long = night.c.until_minute - night.c.from_minute
    return (into + DAY_MINUTES) % DAY_MINUTES < (long + DAY_MINUTES) % DAY_MINUTES


def _fates(asked: CTE, component: Component | None) -> Select[Any]:
    started = case((_STATE.started_at.is_not(None), 1), else_=0).label("started")
    units = (
        select(_STATE.fate, started)
        .join_from(asked, EPISODE_STATE, _lies_in(asked, _STATE.issued_at))
        .where(*_of(component))
    )
    return _grouped(units)


def _reassessed(asked: CTE) -> Select[Any]:
    following = EPISODE_STATE.alias("following")
    # Asked only of those that were reassessed: of the others it says nothing.
    overtaken = (
        select(literal(1))
        .where(
            following.c.patient_id == _STATE.patient_id,
            following.c.ward_id == _STATE.ward_id,
            following.c.component == Component.RED_CELLS.value,
            following.c.started_at > _STATE.started_at,
            following.c.started_at < _STATE.reassessed_at,
        )
        .exists()
    )
    done = _STATE.reassessed_at.is_not(None)
    counts = (and_(done, not_(overtaken)), and_(done, overtaken), _STATE.reassessed_at.is_(None))
    return (
        select(*(func.sum(case((counted, 1), else_=0)) for counted in counts))
        .join_from(asked, EPISODE_STATE, _lies_in(asked, _STATE.started_at))
        .where(_STATE.component == Component.RED_CELLS.value, _STATE.ended_at.is_not(None))
    )


def _grouped(units: Select[Any]) -> Select[Any]:
    """Count like rows; PostgreSQL takes an expression with parameters twice for two of them."""
    listed = units.subquery()
    return select(*listed.c, func.count()).group_by(*listed.c)


def _lies_in(asked: CTE, instant: ColumnElement[Any]) -> ColumnElement[bool]:
    return and_(
        _STATE.ward_id == asked.c.ward_id,
        instant >= asked.c.from_at,
        instant < asked.c.until_at,
    )


def _nights(nights: Mapping[str, NightHours]) -> CTE:
    columns = (column("ward_id", String()), *(column(name, Integer()) for name in _NIGHT))
    rows = [(ward_id, one.from_minute, one.until_minute) for ward_id, one in nights.items()]
    return values(*columns).data(rows).cte("night")


def _of(component: Component | None) -> tuple[ColumnElement[bool], ...]:
    return () if component is None else (_STATE.component == component.value,)
