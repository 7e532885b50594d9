"""Who may start a unit or be its second checker at an instant, by training, shift and breaks."""

from datetime import datetime

from server.domain.plan.problem import PlanUnit, Problem
from server.domain.plan.way import check_period, nurse_period
from server.domain.workload.capacity import OnDuty
from server.domain.workload.period import Period


def starters(problem: Problem, unit: PlanUnit, check_at: datetime) -> tuple[str, ...]:
    """Answer who could start a unit, in order of their ids, whatever else is planned for them."""
    period = nurse_period(problem, unit, check_at)
    able = [one for one in problem.capacity.on_duty if is_trained(one, unit)]
    return _free(able, period, unit.pin.nurse_id)


def seconds(problem: Problem, unit: PlanUnit, check_at: datetime) -> tuple[str | None, ...]:
    """Answer who could check it with them; None alone where one checker is enough."""
    if problem.terms.checkers == 1:
        return (None,)
    able = [one for one in problem.capacity.on_duty if one.may_second]
    return _free(able, check_period(problem.terms, check_at), unit.pin.second_id)


def is_trained(one: OnDuty, unit: PlanUnit) -> bool:
    """Whether somebody may start this unit and has every skill that it needs."""
    return one.may_start and unit.needs <= one.skills


def named_for(problem: Problem, unit: PlanUnit) -> frozenset[str]:
    """Answer whose unit it is: its nurse, or else who was given the bed; empty: nobody's."""
    if unit.nurse_id is not None:
        return frozenset({unit.nurse_id})
    on_duty = problem.capacity.on_duty
    return frozenset(one.staff_id for one in on_duty if unit.bed in one.beds)


def _free(able: list[OnDuty], period: Period, pinned: str | None) -> tuple[str, ...]:
    ids = {one.staff_id for one in able if one.is_free(period)}
    return tuple(sorted(one for one in ids if pinned in {None, one}))
