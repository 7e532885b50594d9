"""The way of one unit, counted from the instant at which its two-person check begins."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from server.domain.plan.grid import next_on_grid
from server.domain.plan.problem import PlanCheck, PlanUnit, Problem, Terms
from server.domain.plan.proposal import PlannedCheck, Start
from server.domain.workload.capacity import Collector
from server.domain.workload.period import Period
from server.domain.workload.task import Work

NOTHING: Final = timedelta(0)


@dataclass(frozen=True, slots=True)
class Placing:
    """When a unit is checked and by whom. `second_id` None: one checker is enough."""

    check_at: datetime
    nurse_id: str
    second_id: str | None


@dataclass(frozen=True, slots=True)
class FollowUp:
    """Work that follows a start, by its nurse. `offsets` count from the check, the best first."""

    work: Work
    n: int
    offsets: tuple[timedelta, ...]
    length: timedelta


def start_period(terms: Terms, check_at: datetime) -> Period:
    """The check, the start and the watched beginning: one nurse, without a pause."""
    return Period(check_at, check_at + terms.check + terms.watch)


def check_period(terms: Terms, check_at: datetime) -> Period:
    """The check alone: what the second person is needed for."""
    return Period(check_at, check_at + terms.check)


def collection(unit: PlanUnit, terms: Terms, check_at: datetime) -> Period | None:
    """From the call until the unit is on the ward; None where it is issued already."""
    return None if unit.is_issued else Period(check_at - terms.collect, check_at)


def nurse_period(problem: Problem, unit: PlanUnit, check_at: datetime) -> Period:
    """What the nurse who starts it is needed for; where nurses collect, from the call on."""
    start = start_period(problem.terms, check_at)
    way = collection(unit, problem.terms, check_at)
    if way is None or problem.capacity.rules.collected_by is Collector.PORTER:
        return start
    return Period(way.from_at, start.until_at)


def end_at(unit: PlanUnit, terms: Terms, check_at: datetime) -> datetime:
    """When the unit is projected to be in."""
    return check_at + terms.check + unit.runs


def follow_ups(unit: PlanUnit, terms: Terms) -> tuple[FollowUp, ...]:
    """Answer the checks that begin after the watched beginning, and taking the unit down.

    A check whose whole window lies in the watched beginning is no work of its own: its nurse is at
    the bedside.
    """
    checks = [_follow_up(check, terms) for check in unit.checks if check.latest >= terms.watch]
    down = terms.lengths.get(Work.FINISH, NOTHING)
    finish = FollowUp(Work.FINISH, 1, (terms.check + max(unit.runs, terms.watch),), down)
    return tuple(one for one in (*checks, finish) if one.length)


def _follow_up(check: PlanCheck, terms: Terms) -> FollowUp:
    earliest = max(check.earliest, terms.watch)
    offsets = steps_around(check.due, earliest, check.latest, terms.grid)
    from_check = tuple(terms.check + offset for offset in offsets)
    return FollowUp(check.work, check.n, from_check, terms.lengths.get(check.work, NOTHING))


def steps_around(
    due: timedelta, earliest: timedelta, latest: timedelta, grid: timedelta
) -> tuple[timedelta, ...]:
    """Answer the steps of the grid around `due` within a window, the nearest first.

    Of two as near the earlier comes first. Without a step in it, the begin of the window.
    """
    first, last = -((due - earliest) // grid), (latest - due) // grid
    steps = [due + step * grid for step in range(first, last + 1)]
    return tuple(sorted(steps, key=lambda one: (abs(one - due), one))) or (earliest,)


def earliest_checks(problem: Problem) -> Mapping[str, datetime]:
    """Answer, by episode id, before which instant on the grid no unit could be checked at best."""
    units = {unit.episode_id: unit for unit in problem.units}
    found: dict[str, datetime] = {}
    for unit in in_sequence(problem.units):
        before = units.get(unit.after) if unit.after else None
        at = own_earliest(problem, unit)
        if before is not None:
            at = max(at, end_at(before, problem.terms, found[before.episode_id]) + unit.gap)
        found[unit.episode_id] = next_on_grid(at, problem.terms.grid)
    return found


def own_earliest(problem: Problem, unit: PlanUnit) -> datetime:
    """The first instant at which it is on the ward and what runs in its patient is over."""
    called = unit.called_at or max(unit.ready_at, problem.capacity.as_of)
    there = unit.ready_at if unit.is_issued else called + problem.terms.collect
    free = there if unit.free_at is None else unit.free_at + unit.gap
    return max(problem.from_at, there, free)


def in_sequence(units: Iterable[PlanUnit]) -> tuple[PlanUnit, ...]:
    """Answer the units with each after the one it waits for; ValueError where they wait in a ring.

    Apart from that they keep their order.
    """
    waiting = list(units)
    ids = {unit.episode_id for unit in waiting}
    placed: dict[str, PlanUnit] = {}
    while waiting:
        free = [one for one in waiting if one.after not in ids or one.after in placed]
        if not free:
            named = ", ".join(one.episode_id for one in waiting)
            raise ValueError(f"units: expected no ring of units that wait for each other: {named}")
        placed |= {one.episode_id: one for one in free}
        waiting = [one for one in waiting if one.episode_id not in placed]
    return tuple(placed.values())


def start_of(
    unit: PlanUnit, terms: Terms, placing: Placing, checks: tuple[PlannedCheck, ...] = ()
) -> Start:
    """Put a unit at its place, with everything that follows from the instant of its check."""
    way = collection(unit, terms, placing.check_at)
    return Start(
        episode_id=unit.episode_id,
        call_at=None if way is None else way.from_at,
        check_at=placing.check_at,
        start_at=placing.check_at + terms.check,
        first_check_at=_first_check_at(unit, terms, placing.check_at, checks),
        projected_end_at=end_at(unit, terms, placing.check_at),
        nurse_id=placing.nurse_id,
        second_id=placing.second_id,
        checks=checks,
    )


def _first_check_at(
    unit: PlanUnit, terms: Terms, check_at: datetime, checks: tuple[PlannedCheck, ...]
) -> datetime:
    """Where the plan lays it, or when it is due; without one, the end of the watch."""
    laid = (one.at for one in checks if one.work is Work.FIRST_CHECK)
    due = (one.due for one in unit.checks if one.work is Work.FIRST_CHECK)
    return next(laid, check_at + terms.check + next(due, terms.watch))
