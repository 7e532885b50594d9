"""How long units of wards waited and what became of them: counted where they lie, never read.

Each question walks an index of a ward from the beginning of a stretch to its end.
"""

from collections.abc import Iterable
from datetime import datetime
from functools import cache
from typing import Any, Final

from sqlalchemy import ColumnElement, Select, and_, bindparam, case, func, literal_column, select

from server.domain.review.counted import Fated, PlaceWaited, Until, Waited
from server.domain.review.rates import Tally
from server.domain.review.stretches import Stretch
from server.domain.words import Component, Fate
from server.store.columns import UtcDateTime
from server.store.review_stretches import (
    asked,
    asked_for,
    begun_minutes,
    counted,
    found_in,
    hour_of_day,
)
from server.store.sessions import ReadSession
from server.store.tables import EPISODE_STATE

_STATE: Final = EPISODE_STATE.c
_REACHED: Final = {Until.START: _STATE.started_at, Until.END: _STATE.ended_at}
_NOW: Final = bindparam("now", type_=UtcDateTime())


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
    rows = session.rows(
        _waits_by_hour(session.engine_name, until, component), asked_for(stretches) | {"now": now}
    )
    return tuple(
        Waited(kind and Component(kind), hour, max(0, minutes), bool(happened), units)
        for kind, hour, minutes, happened, units in rows
    )


def waits_by_place(
    session: ReadSession,
    stretches: Iterable[Stretch],
    until: Until,
    *,
    now: datetime,
    component: Component | None = None,
) -> tuple[PlaceWaited, ...]:
    """The same for each place."""
    rows = session.rows(
        _waits_by_place(session.engine_name, until, component), asked_for(stretches) | {"now": now}
    )
    return tuple(
        PlaceWaited(place, max(0, minutes), bool(happened), units)
        for place, minutes, happened, units in rows
    )


def fates_of(
    session: ReadSession, stretches: Iterable[Stretch], component: Component | None = None
) -> tuple[Fated, ...]:
    """What became of the units that were issued in these stretches."""
    rows = session.rows(_fates(session.engine_name, component), asked_for(stretches))
    return tuple(Fated(fate and Fate(fate), bool(started), units) for fate, started, units in rows)


def reassessments_of(session: ReadSession, stretches: Iterable[Stretch]) -> Tally:
    """After how many red cell units of these stretches somebody reassessed the patient.

    Of those that were started there and have ended: met where it was recorded before the patient's
    next unit of red cells was started on the ward, late where only then, missed where it was not.
    """
    rows = session.rows(_reassessed(session.engine_name), asked_for(stretches))
    return Tally(**{row.outcome: row[-1] for row in rows})


@cache
def _waits_by_hour(engine_name: str, until: Until, component: Component | None) -> Select[Any]:
    return counted(
        _waits(engine_name, until, component), "component", "hour", "minutes", "happened"
    )


@cache
def _waits_by_place(engine_name: str, until: Until, component: Component | None) -> Select[Any]:
    return counted(_waits(engine_name, until, component), "place", "minutes", "happened")


def _waits(engine_name: str, until: Until, component: Component | None) -> Select[Any]:
    reached = _REACHED[until]
    left = case((_STATE.started_at.is_(None), _STATE.fate_at))
    ended = func.coalesce(reached, left, _NOW)
    fields = (
        _STATE.component,
        hour_of_day(_STATE.issued_at, asked(engine_name).c.offset_seconds).label("hour"),
        begun_minutes(_STATE.issued_at, ended).label("minutes"),
        case((reached.is_not(None), 1), else_=0).label("happened"),
    )
    return units_in(engine_name, _STATE.issued_at, fields, component)


@cache
def _fates(engine_name: str, component: Component | None) -> Select[Any]:
    started = case((_STATE.started_at.is_not(None), 1), else_=0).label("started")
    found = units_in(engine_name, _STATE.issued_at, (_STATE.fate, started), component)
    return counted(found, "fate", "started")


@cache
def _reassessed(engine_name: str) -> Select[Any]:
    following = EPISODE_STATE.alias("following")
    overtaken = (
        select(literal_column("1"))
        .where(
            following.c.patient_id == _STATE.patient_id,
            following.c.ward_id == _STATE.ward_id,
            following.c.component == Component.RED_CELLS.value,
            following.c.started_at > _STATE.started_at,
            following.c.started_at < _STATE.reassessed_at,
        )
        .exists()
    )
    # What follows is asked only of units that were reassessed: of the others it says nothing.
    outcome = case(
        (_STATE.reassessed_at.is_(None), "missed"), (overtaken, "late"), else_="met"
    ).label("outcome")
    found = units_in(
        engine_name,
        _STATE.started_at,
        (outcome,),
        Component.RED_CELLS,
        _STATE.ended_at.is_not(None),
    )
    return counted(found, "outcome")


def units_in(
    engine_name: str,
    instant: ColumnElement[Any],
    fields: tuple[ColumnElement[Any], ...],
    component: Component | None,
    *more: ColumnElement[bool],
) -> Select[Any]:
    """The units with an instant in a stretch of their ward, of one component or of all of them."""
    table = asked(engine_name)
    lies_in = and_(
        _STATE.ward_id == table.c.ward_id,
        instant >= table.c.from_at,
        instant < table.c.until_at,
        *(() if component is None else (_STATE.component == component.value,)),
        *more,
    )
    return found_in(engine_name, EPISODE_STATE, lies_in, fields)
