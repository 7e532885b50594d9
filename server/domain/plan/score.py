"""The worth of a plan, level by level, from its starts alone. Whole minutes; less is better."""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from math import gcd

from server.domain.plan.alone import is_night_start
from server.domain.plan.people import named_for
from server.domain.plan.problem import PlanUnit, Problem
from server.domain.plan.proposal import LaidTask, Objective, Start
from server.domain.plan.way import earliest_checks, follow_ups
from server.domain.plan.weights import (
    BEYOND_SHARE,
    NIGHT_START,
    NOT_THE_NAMED,
    can_wait,
    weight,
)
from server.domain.workload.capacity import NightRule
from server.domain.workload.task import Task

_MINUTE = timedelta(minutes=1)


@dataclass(frozen=True, slots=True)
class Worth:
    """What each unit costs by itself at an instant; every plan of one problem is judged by it."""

    problem: Problem
    earliest: Mapping[str, datetime]

    @classmethod
    def of(cls, problem: Problem) -> "Worth":
        """Find out once from when on each unit waits."""
        return cls(problem, earliest_checks(problem))

    def late(self, unit: PlanUnit, check_at: datetime) -> int:
        """Weighted minutes after the instant at which a unit should run at the latest."""
        due = self._due(unit)
        return 0 if due is None else weight(unit) * _minutes(check_at + self._check - due)

    def night(self, unit: PlanUnit, check_at: datetime) -> int:
        """What a start in an avoided night costs."""
        avoided = self.problem.capacity.rules.night_rule is NightRule.AVOIDED
        return NIGHT_START if avoided and is_night_start(self.problem, unit, check_at) else 0

    def waiting(self, unit: PlanUnit, check_at: datetime) -> int:
        """Minutes that a unit which can wait does wait."""
        return _minutes(check_at - self.earliest[unit.episode_id]) if can_wait(unit) else 0

    def change(self, unit: PlanUnit, check_at: datetime, nurse: str, second: str | None) -> int:
        """1 where the plan in force had it otherwise."""
        old = self.problem.accepted.get(unit.episode_id)
        if old is None:
            return 0
        return int((old.check_at, old.nurse_id, old.second_id) != (check_at, nurse, second))

    def stranger(self, unit: PlanUnit, nurse_id: str) -> int:
        """What it costs that somebody starts it whose unit it is not."""
        named = named_for(self.problem, unit)
        return NOT_THE_NAMED if named and nurse_id not in named else 0

    @property
    def _check(self) -> timedelta:
        return self.problem.terms.check

    def _due(self, unit: PlanUnit) -> datetime | None:
        """When the blood should run: as wanted, else at once, or when it has waited long enough."""
        at_best = self.earliest[unit.episode_id] + self._check
        if not can_wait(unit):
            return unit.wanted_by or at_best
        longest = self.problem.terms.longest_wait
        ends = [unit.wanted_by, None if longest is None else at_best + longest]
        return min((one for one in ends if one is not None), default=None)


def score(
    problem: Problem,
    starts: Sequence[Start],
    laid: Iterable[LaidTask] = (),
    worth: Worth | None = None,
) -> Objective:
    """Answer the worth of starts; `worth` spares working out again what the problem asks."""
    costs = worth or Worth.of(problem)
    units = {unit.episode_id: unit for unit in problem.units}
    pairs = [(units[one.episode_id], one) for one in starts if one.episode_id in units]
    missing = units.keys() - {start.episode_id for start in starts}
    return Objective(
        unplaced=sum(weight(units[one]) for one in missing),
        urgent_late=sum(costs.late(unit, start.check_at) for unit, start in pairs),
        overload=_overload(problem, costs, pairs, laid),
        changes=sum(_change(costs, unit, start) for unit, start in pairs),
        comfort=_comfort(problem, costs, pairs),
    )


def unfilled(problem: Problem, unit: PlanUnit, start: Start) -> int:
    """Answer the minutes of work after a start that its nurse finds no time for."""
    laid = {(one.work, one.n) for one in start.checks}
    owed = follow_ups(unit, problem.terms)
    return sum(_minutes(one.length) for one in owed if (one.work, one.n) not in laid)


def next_overload(problem: Problem, overload: int) -> int:
    """Answer what the overload of a plan comes to at least where it is more than some minutes.

    It is made of whole pieces of work and of night starts, so that not every number can be one.
    """
    owed = (one.length for unit in problem.units for one in follow_ups(unit, problem.terms))
    lengths = (*owed, *(task.length for task in movable(problem)))
    step = gcd(NIGHT_START, *(_minutes(one) for one in lengths))
    return (overload // step + 1) * step


def movable(problem: Problem) -> tuple[Task, ...]:
    """Answer the tasks of units under way that somebody has and that may be moved."""
    return tuple(one for one in problem.tasks if not one.is_locked and one.staff_id is not None)


def fair_shares(problem: Problem) -> dict[str, int]:
    """Answer how many starts are anybody's share, by the hours on duty of those trained to start.

    Rounded up, so that shares together hold every unit.
    """
    hours = Counter[str]()
    for one in problem.capacity.on_duty:
        inside = min(one.period.until_at, problem.until_at) - max(
            one.period.from_at, problem.from_at
        )
        if one.may_start:
            hours[one.staff_id] += _minutes(inside)
    total = max(1, hours.total())
    return {who: -(-len(problem.units) * minutes // total) for who, minutes in hours.items()}


def beyond_share(problem: Problem, starts: Iterable[Start]) -> int:
    """Answer how many starts people have beyond their share."""
    shares = fair_shares(problem)
    counted = Counter(start.nurse_id for start in starts)
    return sum(max(0, count - shares.get(who, 0)) for who, count in counted.items())


def carried_load(problem: Problem) -> Counter[str]:
    """Answer the minutes of work under way of everybody on duty, by the id of the person."""
    load = Counter({one.staff_id: 0 for one in problem.capacity.on_duty})
    for task in problem.tasks:
        if task.staff_id is not None and task.staff_id in load:
            load[task.staff_id] += _minutes(task.length)
    return load


def _overload(
    problem: Problem,
    costs: Worth,
    pairs: list[tuple[PlanUnit, Start]],
    laid: Iterable[LaidTask],
) -> int:
    done = {(one.episode_id, one.work, one.n) for one in laid}
    tasks = [one for one in movable(problem) if (one.episode_id, one.work, one.n) not in done]
    return (
        sum(unfilled(problem, unit, start) for unit, start in pairs)
        + sum(costs.night(unit, start.check_at) for unit, start in pairs)
        + sum(_minutes(task.length) for task in tasks)
    )


def _change(costs: Worth, unit: PlanUnit, start: Start) -> int:
    return costs.change(unit, start.check_at, start.nurse_id, start.second_id)


def _comfort(problem: Problem, costs: Worth, pairs: list[tuple[PlanUnit, Start]]) -> int:
    waiting = sum(costs.waiting(unit, start.check_at) for unit, start in pairs)
    strangers = sum(costs.stranger(unit, start.nurse_id) for unit, start in pairs)
    return waiting + strangers + BEYOND_SHARE * beyond_share(problem, [one for _, one in pairs])


def _minutes(length: timedelta) -> int:
    return max(0, length // _MINUTE)
