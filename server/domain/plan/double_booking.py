"""One person at two things at once: starts, second checks, laid checks, work under way."""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations

from server.domain.plan.finding import Finding
from server.domain.plan.problem import PlanUnit, Problem
from server.domain.plan.proposal import Rule, Start
from server.domain.plan.telling import WORK, person, stretch, unit_name
from server.domain.plan.way import check_period, follow_ups, nurse_period
from server.domain.workload.period import Period
from server.domain.workload.task import Work

Pairs = Sequence[tuple[PlanUnit, Start]]


@dataclass(frozen=True, slots=True)
class _Busy:
    """`is_planned`: the plan put it there, so that it could be put elsewhere."""

    episode_id: str
    period: Period
    work: Work
    is_planned: bool


def double_booked(problem: Problem, pairs: Pairs) -> Iterator[Finding]:
    """Answer every two things of one person that overlap and of which the plan made one or both."""
    busy: defaultdict[str, list[_Busy]] = defaultdict(list)
    for task in problem.tasks:
        if task.is_locked and task.staff_id is not None:
            one = _Busy(task.episode_id, task.period, task.work, is_planned=False)
            busy[task.staff_id].append(one)
    for unit, start in pairs:
        for staff_id, one in _of_start(problem, unit, start):
            busy[staff_id].append(one)
    for staff_id, things in sorted(busy.items()):
        for first, second in combinations(things, 2):
            planned = first.is_planned or second.is_planned
            if planned and first.period.overlaps(second.period):
                yield _collision(problem, staff_id, first, second)


def _of_start(problem: Problem, unit: PlanUnit, start: Start) -> Iterator[tuple[str, _Busy]]:
    def busy(period: Period, work: Work) -> _Busy:
        return _Busy(unit.episode_id, period, work, is_planned=True)

    whole = nurse_period(problem, unit, start.check_at)
    yield start.nurse_id, busy(whole, Work.CHECK_AND_START)
    if start.second_id not in {None, start.nurse_id}:
        check = check_period(problem.terms, start.check_at)
        yield start.second_id or "", busy(check, Work.SECOND_CHECK)
    lengths = {(one.work, one.n): one.length for one in follow_ups(unit, problem.terms)}
    for check_ in start.checks:
        until = check_.at + lengths.get((check_.work, check_.n), check_.at - check_.at)
        yield start.nurse_id, busy(Period(check_.at, until), check_.work)


def _collision(problem: Problem, staff_id: str, first: _Busy, second: _Busy) -> Finding:
    period = Period(
        max(first.period.from_at, second.period.from_at),
        min(first.period.until_at, second.period.until_at),
    )
    words = (
        f"{person(problem, staff_id)}: {_said(problem, first)} and {_said(problem, second)}"
        f" collide {stretch(problem, period)}"
    )
    return Finding(Rule.NURSES, (first.episode_id, second.episode_id), (staff_id,), period, words)


def _said(problem: Problem, one: _Busy) -> str:
    return f"{WORK[one.work]} {unit_name(problem, one.episode_id)}"
