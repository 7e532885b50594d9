"""When people are free for a start or a second check, before anything is planned."""

from collections import defaultdict
from datetime import datetime

from server.domain.plan.diary import Diary
from server.domain.plan.people import is_trained
from server.domain.plan.problem import PlanUnit, Problem
from server.domain.plan.way import check_period, nurse_period
from server.domain.workload.capacity import OnDuty
from server.domain.workload.period import Period


class Openings:
    """Answers are remembered: many units ask for the same person and period."""

    def __init__(self, problem: Problem) -> None:
        """Take shifts, breaks, duties and locked work from a problem."""
        self._problem, self._diary = problem, Diary(problem)
        self._starts: dict[tuple[str, datetime, frozenset[str], bool], bool] = {}
        self._able: dict[tuple[datetime, frozenset[str], bool], frozenset[str]] = {}
        self._checks: dict[tuple[str, datetime], bool] = {}
        self.shifts: defaultdict[str, list[OnDuty]] = defaultdict(list)
        for one in problem.capacity.on_duty:
            self.shifts[one.staff_id].append(one)

    def starts(self, staff_id: str, unit: PlanUnit, at: datetime) -> bool:
        """Whether somebody could start a unit whose check begins at an instant."""
        key = (staff_id, at, unit.needs, unit.is_issued)
        if key not in self._starts:
            trained = [one for one in self.shifts[staff_id] if is_trained(one, unit)]
            period = nurse_period(self._problem, unit, at)
            self._starts[key] = self._is_free(staff_id, trained, period)
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
            self._checks[key] = self._is_free(staff_id, trained, period)
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

    def _is_free(self, staff_id: str, shifts: list[OnDuty], period: Period) -> bool:
        on_duty = any(one.is_free(period) for one in shifts)
        return on_duty and self._diary.is_free(staff_id, period)
