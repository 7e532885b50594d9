"""When people are free for a start or a second check, before anything is planned."""

from collections import defaultdict
from collections.abc import Iterable
from datetime import datetime, timedelta
from typing import Final

from server.domain.plan.diary import Diary
from server.domain.plan.people import is_trained
from server.domain.plan.problem import PlanUnit, Problem
from server.domain.plan.way import check_period, nurse_period
from server.domain.workload.capacity import OnDuty
from server.domain.workload.period import Period

_MINUTE: Final = timedelta(minutes=1)


class Openings:
    """Answers are remembered: many units ask for the same person and period."""

    def __init__(self, problem: Problem) -> None:
        """Take shifts, breaks, duties and locked work from a problem."""
        self._problem, self._diary = problem, Diary(problem)
        self._starts: dict[tuple[str, datetime, frozenset[str], bool], bool] = {}
        self._able: dict[tuple[datetime, frozenset[str], bool], frozenset[str]] = {}
        self._checks: dict[tuple[str, datetime], bool] = {}
        self._free: dict[tuple[str, Period], bool] = {}
        self._there: dict[datetime, tuple[int, int]] = {}
        self.shifts: defaultdict[str, list[OnDuty]] = defaultdict(list)
        for one in problem.capacity.on_duty:
            self.shifts[one.staff_id].append(one)

    def starts(self, staff_id: str, unit: PlanUnit, at: datetime) -> bool:
        """Whether somebody could start a unit whose check begins at an instant."""
        key = (staff_id, at, unit.needs, unit.is_issued)
        if key not in self._starts:
            trained = [one for one in self.shifts[staff_id] if is_trained(one, unit)]
            period = nurse_period(self._problem, unit, at)
            self._starts[key] = self._could(staff_id, trained, period)
        return self._starts[key]

    def able(self, unit: PlanUnit, at: datetime) -> frozenset[str]:
        """Everybody who could start a unit whose check begins at an instant."""
        key = (at, unit.needs, unit.is_issued)
        if key not in self._able:
            able = (who for who in self.shifts if self.starts(who, unit, at))
            self._able[key] = frozenset(able)
        return self._able[key]

    def checks(self, staff_id: str, at: datetime) -> bool:
        """Whether somebody could be the second checker at an instant."""
        key = (staff_id, at)
        if key not in self._checks:
            trained = [one for one in self.shifts[staff_id] if one.may_second]
            period = check_period(self._problem.terms, at)
            self._checks[key] = self._could(staff_id, trained, period)
        return self._checks[key]

    def starters(self, unit: PlanUnit) -> list[str]:
        """Everybody trained to start a unit, or who was pinned to it of them."""
        pinned = unit.pin.nurse_id
        return [
            who
            for who, shifts in sorted(self.shifts.items())
            if pinned in {None, who} and any(is_trained(one, unit) for one in shifts)
        ]

    def seconds(self, unit: PlanUnit) -> list[str]:
        """Everybody trained for the second check, or who was pinned to it of them."""
        pinned = unit.pin.second_id
        return [
            who
            for who, shifts in sorted(self.shifts.items())
            if pinned in {None, who} and any(one.may_second for one in shifts)
        ]

    def is_free(self, staff_id: str, period: Period) -> bool:
        """Whether somebody has neither a break, a duty nor locked work in a period."""
        key = (staff_id, period)
        if key not in self._free:
            self._free[key] = self._diary.is_free(staff_id, period)
        return self._free[key]

    def there(self, at: datetime) -> tuple[int, int]:
        """How many could be starting a unit at an instant, and how many starting or checking."""
        if at not in self._there:
            people = self._problem.capacity.on_duty
            starting = self._count(at, [one for one in people if one.may_start])
            either = self._count(at, [one for one in people if one.may_start or one.may_second])
            self._there[at] = (starting, either)
        return self._there[at]

    def _count(self, at: datetime, people: Iterable[OnDuty]) -> int:
        on_duty = {one.staff_id for one in people if one.period.contains(at)}
        return sum(self.is_free(who, Period(at, at + _MINUTE)) for who in on_duty)

    def _could(self, staff_id: str, shifts: Iterable[OnDuty], period: Period) -> bool:
        on_duty = any(one.is_free(period) for one in shifts)
        return on_duty and self.is_free(staff_id, period)
