"""The words for a rule that a start breaks by itself."""

from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Final

from server.domain.plan.problem import PlanUnit, Problem
from server.domain.plan.proposal import Rule
from server.domain.plan.telling import stretch, time, unit_name
from server.domain.plan.way import end_at, own_earliest, start_period
from server.domain.workload.period import Period

Say = Callable[[Problem, PlanUnit, datetime], str]


def alone_words(problem: Problem, unit: PlanUnit, check_at: datetime, rule: Rule) -> str:
    """Answer what a check at an instant breaks, for a rule of `broken_alone`."""
    return f"{unit_name(problem, unit.episode_id)}: {_SAY[rule](problem, unit, check_at)}"


def whole(length: timedelta) -> int:
    """Whole minutes of a length."""
    return length // timedelta(minutes=1)


def _ready(problem: Problem, unit: PlanUnit, _: datetime) -> str:
    return f"it cannot be on the ward before {time(problem, own_earliest(problem, unit))}"


def _finish(problem: Problem, unit: PlanUnit, _: datetime) -> str:
    terms = problem.terms
    needed = whole(terms.carried + terms.check + unit.runs)
    return f"it would be in {needed} min after leaving storage, limit {whole(unit.finish_within)}"


def _start(problem: Problem, unit: PlanUnit, _: datetime) -> str:
    if unit.check_by is not None:
        return f"it is out of storage, and its check has to begin by {time(problem, unit.check_by)}"
    terms = problem.terms
    return (
        f"collection and check take {whole(terms.carried + terms.check)} min out of storage,"
        f" limit {whole(terms.start_within)}"
    )


def _done_by(problem: Problem, unit: PlanUnit, check_at: datetime) -> str:
    what = "the sample is" if unit.done_by_rule == Rule.SAMPLE else "it is"
    until = time(problem, unit.done_by or check_at)
    in_at = time(problem, end_at(unit, problem.terms, check_at))
    return f"{what} valid until {until}, and it would be in at {in_at}"


def _sequence(problem: Problem, unit: PlanUnit, _: datetime) -> str:
    if unit.free_at is None:
        return "it is not known when the unit before it will be over"
    free = time(problem, unit.free_at + unit.gap)
    return f"the unit that runs leaves room from {free} on"


def _handover(problem: Problem, _: PlanUnit, check_at: datetime) -> str:
    return f"its start would fall into the handover {_touched(problem, check_at)}"


def _touched(problem: Problem, check_at: datetime) -> str:
    start = start_period(problem.terms, check_at)
    touched = [one for one in problem.capacity.rules.handovers if one.overlaps(start)]
    return ", ".join(stretch(problem, one) for one in touched)


def _night(problem: Problem, _: PlanUnit, check_at: datetime) -> str:
    at = time(problem, check_at + problem.terms.check)
    return f"routine, and would start at night, {at}"


def _forbidden(problem: Problem, unit: PlanUnit, check_at: datetime) -> str:
    start = start_period(problem.terms, check_at)
    touched: list[Period] = [one for one in unit.forbidden if one.overlaps(start)]
    return f"not wanted {', '.join(stretch(problem, one) for one in touched)}"


def _pin(problem: Problem, unit: PlanUnit, check_at: datetime) -> str:
    return f"its check was fixed for {time(problem, unit.pin.check_at or check_at)}"


def _horizon(problem: Problem, _: PlanUnit, __: datetime) -> str:
    return (
        f"the plan goes from {time(problem, problem.from_at)} to {time(problem, problem.until_at)}"
    )


_SAY: Final[dict[Rule, Say]] = {
    Rule.READY: _ready,
    Rule.FINISH: _finish,
    Rule.START: _start,
    Rule.EXPIRY: _done_by,
    Rule.SAMPLE: _done_by,
    Rule.SEQUENCE: _sequence,
    Rule.HANDOVER: _handover,
    Rule.NIGHT: _night,
    Rule.FORBIDDEN: _forbidden,
    Rule.PIN: _pin,
    Rule.HORIZON: _horizon,
}
