"""Who is busy when, and how much the ward has under way, while a plan is being written."""

from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta
from typing import Final

from server.domain.plan.problem import PlanUnit, Problem
from server.domain.plan.proposal import Rule
from server.domain.plan.score import carried_load
from server.domain.plan.way import (
    Placing,
    check_period,
    collection,
    nurse_period,
    start_period,
)
from server.domain.workload.capacity import Collector
from server.domain.workload.period import Period
from server.domain.workload.task import Task, Work

QUARTER: Final = timedelta(minutes=15)
STARTING: Final = frozenset({Work.CHECK_AND_START, Work.WATCH})


class Diary:
    """The work of everybody on the ward: what cannot move, and what has been written in since."""

    def __init__(self, problem: Problem) -> None:
        """Begin with what is locked, and with everybody's breaks and duties."""
        self.problem = problem
        self.load = carried_load(problem)
        self._busy: defaultdict[str, list[Period]] = defaultdict(list)
        for one in problem.capacity.on_duty:
            self._busy[one.staff_id].extend(one.away)
        for task in problem.tasks:
            if task.is_locked and task.staff_id is not None:
                self._busy[task.staff_id].append(task.period)
        self._starting = under_way(problem.tasks, STARTING)
        self._collecting = under_way(problem.tasks, frozenset({Work.COLLECT}))
        self._issued: Counter[datetime] = Counter()

    def is_free(self, staff_id: str, period: Period) -> bool:
        """Whether nothing that is written in for somebody overlaps a period."""
        return not any(busy.overlaps(period) for busy in self._busy[staff_id])

    def write(self, staff_id: str, period: Period) -> None:
        """Keep somebody busy."""
        self._busy[staff_id].append(period)

    def erase(self, staff_id: str, period: Period) -> None:
        """Take back what was written in."""
        self._busy[staff_id].remove(period)

    def place(self, unit: PlanUnit, placing: Placing) -> None:
        """Write in a start with its collection and its second check."""
        terms = self.problem.terms
        self.write(placing.nurse_id, nurse_period(self.problem, unit, placing.check_at))
        start = start_period(terms, placing.check_at)
        self.load[placing.nurse_id] += start.length // timedelta(minutes=1)
        if placing.second_id is not None:
            self.write(placing.second_id, check_period(terms, placing.check_at))
            self.load[placing.second_id] += terms.check // timedelta(minutes=1)
        self._starting.append(start)
        way = collection(unit, terms, placing.check_at)
        if way is not None:
            self._collecting.append(way)
            self._issued[issue_quarter(placing.check_at - terms.carried)] += 1

    def full(self, unit: PlanUnit, check_at: datetime) -> tuple[Rule, ...]:
        """Answer which limits of the ward one more start at an instant would pass."""
        rules, terms = self.problem.capacity.rules, self.problem.terms
        found: list[Rule] = []
        if _passes(self._starting, start_period(terms, check_at), rules.most_starts):
            found.append(Rule.MOST_STARTS)
        way = collection(unit, terms, check_at)
        if way is None:
            return tuple(found)
        porters = rules.porters if rules.collected_by is Collector.PORTER else None
        if _passes(self._collecting, way, porters):
            found.append(Rule.PORTERS)
        issued = self._issued[issue_quarter(check_at - terms.carried)]
        if rules.issues_per_quarter is not None and issued >= rules.issues_per_quarter:
            found.append(Rule.BLOOD_BANK)
        return tuple(found)


def issue_quarter(at: datetime) -> datetime:
    """Answer the begin of the quarter of an hour of the clock in which an instant lies."""
    hour = at.replace(minute=0, second=0, microsecond=0)
    return hour + (at - hour) // QUARTER * QUARTER


def under_way(tasks: Iterable[Task], works: frozenset[Work]) -> list[Period]:
    """Answer when work of some kinds keeps the ward busy already."""
    return [task.period for task in tasks if task.work in works]


def most_at_once(periods: Sequence[Period]) -> int:
    """Answer how many of some periods lie on one another at most."""
    ends = sorted([(one.from_at, 1) for one in periods] + [(one.until_at, -1) for one in periods])
    depth = most = 0
    for _, step in ends:
        depth += step
        most = max(most, depth)
    return most


def _passes(periods: Iterable[Period], new: Period, most: int | None) -> bool:
    """Whether with one more there would be too many at any instant of it."""
    if most is None:
        return False
    cut = [
        Period(max(one.from_at, new.from_at), min(one.until_at, new.until_at))
        for one in periods
        if one.overlaps(new)
    ]
    return most_at_once(cut) >= most
