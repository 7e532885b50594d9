"""What a start breaks by itself, whoever does it and whatever else is planned."""

from collections.abc import Callable
from datetime import datetime
from typing import Final

from server.domain.plan.grid import slots
from server.domain.plan.problem import PlanUnit, Problem
from server.domain.plan.proposal import Rule
from server.domain.plan.way import collection, end_at, start_period
from server.domain.plan.weights import can_wait
from server.domain.workload.capacity import NightRule

Holds = Callable[[Problem, PlanUnit, datetime], bool]


def broken_alone(problem: Problem, unit: PlanUnit, check_at: datetime) -> tuple[Rule, ...]:
    """Answer the rules that a check at an instant breaks, in the order of `Rule`."""
    return tuple(rule for rule, holds in _RULES.items() if not holds(problem, unit, check_at))


def candidates(problem: Problem, unit: PlanUnit) -> tuple[datetime, ...]:
    """Answer the instants, in order, at which a check would break nothing by itself."""
    pinned = unit.pin.check_at
    grid = problem.terms.grid
    listed = slots(problem.from_at, problem.until_at, grid) if pinned is None else (pinned,)
    return tuple(at for at in listed if not broken_alone(problem, unit, at))


def is_night_start(problem: Problem, unit: PlanUnit, check_at: datetime) -> bool:
    """Whether the blood of a unit that can wait would begin to run at night."""
    start_at = check_at + problem.terms.check
    return can_wait(unit) and any(one.contains(start_at) for one in problem.capacity.rules.nights)


def _is_ready(problem: Problem, unit: PlanUnit, check_at: datetime) -> bool:
    way = collection(unit, problem.terms, check_at)
    if way is None:
        return check_at >= unit.ready_at
    is_possible = way.from_at >= max(unit.ready_at, problem.capacity.as_of)
    return is_possible or way.from_at == unit.called_at


def _finishes(problem: Problem, unit: PlanUnit, _: datetime) -> bool:
    """Of a unit on its way the instant at which it left is known elsewhere: see `check_by`."""
    terms = problem.terms
    return unit.is_issued or terms.carried + terms.check + unit.runs <= unit.finish_within


def _starts(problem: Problem, unit: PlanUnit, check_at: datetime) -> bool:
    if unit.check_by is not None:
        return check_at <= unit.check_by
    terms = problem.terms
    return unit.is_issued or terms.carried + terms.check <= terms.start_within


def _is_sample(unit: PlanUnit) -> bool:
    return unit.done_by_rule == Rule.SAMPLE


def _in_time(problem: Problem, unit: PlanUnit, check_at: datetime) -> bool:
    return unit.done_by is None or end_at(unit, problem.terms, check_at) <= unit.done_by


def _follows(problem: Problem, unit: PlanUnit, check_at: datetime) -> bool:
    """What runs already must be over; a unit before that is neither planned nor known never is."""
    if unit.free_at is not None:
        return check_at >= unit.free_at + unit.gap
    return unit.after is None or any(one.episode_id == unit.after for one in problem.units)


def _misses_handovers(problem: Problem, _: PlanUnit, check_at: datetime) -> bool:
    start = start_period(problem.terms, check_at)
    return not any(one.overlaps(start) for one in problem.capacity.rules.handovers)


def _may_at_night(problem: Problem, unit: PlanUnit, check_at: datetime) -> bool:
    refused = problem.capacity.rules.night_rule is NightRule.REFUSED
    return not (refused and is_night_start(problem, unit, check_at))


def _is_wanted(problem: Problem, unit: PlanUnit, check_at: datetime) -> bool:
    start = start_period(problem.terms, check_at)
    return not any(one.overlaps(start) for one in unit.forbidden)


def _is_pinned(_: Problem, unit: PlanUnit, check_at: datetime) -> bool:
    return unit.pin.check_at in {None, check_at}


def _lies_inside(problem: Problem, _: PlanUnit, check_at: datetime) -> bool:
    return problem.from_at <= check_at < problem.until_at


_RULES: Final[dict[Rule, Holds]] = {
    Rule.READY: _is_ready,
    Rule.FINISH: _finishes,
    Rule.START: _starts,
    Rule.EXPIRY: lambda problem, unit, at: _is_sample(unit) or _in_time(problem, unit, at),
    Rule.SAMPLE: lambda problem, unit, at: not _is_sample(unit) or _in_time(problem, unit, at),
    Rule.SEQUENCE: _follows,
    Rule.HANDOVER: _misses_handovers,
    Rule.NIGHT: _may_at_night,
    Rule.FORBIDDEN: _is_wanted,
    Rule.PIN: _is_pinned,
    Rule.HORIZON: _lies_inside,
}
