"""By accepted plans: units are called when the plan says, for the people whom it names."""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from typing import Final

from server.domain.plan.grid import next_on_grid
from server.domain.plan.problem import Earlier, Problem, Terms
from server.domain.plan.proposal import Start
from server.domain.plan.terms import terms_of
from server.domain.plan.units import plan_units
from server.domain.plan.wards import rules_of
from server.domain.policy import Policy
from server.domain.workload.capacity import Capacity, NightRule, WardLimits
from server.domain.workload.learnt import lengths
from server.domain.workload.period import Period
from server.domain.workload.project import project_ward
from tests.benchmarks.week.by_turn import may_come
from tests.benchmarks.week.demand import MINUTE
from tests.benchmarks.week.unit import Unit
from tests.benchmarks.week.ward import PORTERS, Ward

Plan = Callable[[Problem], tuple[Start, ...]]

NOTICED_AFTER: Final = 3 * MINUTE
"""How long it takes a charge nurse to see that the plan no longer holds, and accept another."""

LATE: Final = 5 * MINUTE
BEHIND: Final = timedelta(hours=12)
LIMITS: Final = WardLimits(night_rule=NightRule.ALLOWED, porters=PORTERS)


class ByPlan:
    """Plans again some minutes after an order came or something was late."""

    def __init__(self, policy: Policy, plan: Plan) -> None:
        """Begin without a plan; `plan` answers the starts that are accepted."""
        self.plan = plan
        self.policy = policy
        found = lengths(policy, {}, use_learnt=False, collected_by=LIMITS.collected_by)
        self.terms: Terms = terms_of(policy, found)
        self.starts: dict[str, Start] = {}
        self.known: set[str] = set()
        self.again_at: datetime | None = None
        self.plans = 0

    def call(self, ward: Ward, now: datetime) -> None:
        """Plan again where it is time, and call what the plan calls now."""
        if self.again_at is None and self._is_stale(ward, now):
            self.again_at = now + NOTICED_AFTER
        if self.again_at is not None and self.again_at <= now:
            self._plan_again(ward, now)
        for unit in ward.units:
            start = self.starts.get(unit.id)
            if start is None or unit.begun_at is not None:
                continue
            if unit.called_at is None:
                self._call(ward, unit, start, now)
            elif ward.turn_of(start.nurse_id, now) is not None:
                ward.give(unit, start.nurse_id, now)

    def _call(self, ward: Ward, unit: Unit, start: Start, now: datetime) -> None:
        is_time = start.call_at is not None and now >= start.call_at
        nurse = ward.turn_of(start.nurse_id, now)
        if is_time and nurse is not None and may_come(ward, unit, now):
            ward.give(unit, start.nurse_id, now)
            ward.fetch(unit, now)

    def _is_stale(self, ward: Ward, now: datetime) -> bool:
        """Whether a unit is not in the plan, or a call or check of it has passed."""
        return any(
            unit.id not in self.known or self._is_late(unit, now)
            for unit in ward.units
            if unit.begun_at is None
        )

    def _is_late(self, unit: Unit, now: datetime) -> bool:
        start = self.starts.get(unit.id)
        if start is None:
            # Nobody found a place for it: look again every quarter of an hour.
            return now.minute % 15 == 0
        step = start.check_at if unit.called_at is not None else start.call_at or start.check_at
        return now > step + LATE

    def _plan_again(self, ward: Ward, now: datetime) -> None:
        self.again_at = None
        self.plans += 1
        starts = self.plan(self.problem(ward, now))
        self.starts = {start.episode_id: start for start in starts}
        waiting = [unit for unit in ward.units if unit.begun_at is None]
        self.known = {unit.id for unit in waiting}
        for unit in waiting:
            start = self.starts.get(unit.id)
            unit.check_at = None if start is None else start.check_at
            unit.second_id = None if start is None else start.second_id

    def problem(self, ward: Ward, now: datetime) -> Problem:
        """What a planner is asked of the ward as it is now."""
        pictures = [unit.picture(now) for unit in ward.units]
        begin = next_on_grid(now, self.terms.grid)
        horizon = Period(begin, begin + self.policy.plan_horizon)
        begun = {unit.id for unit in ward.units if unit.begun_at is not None}
        units = tuple(
            one for one in plan_units(pictures, self.terms).units if one.episode_id not in begun
        )
        planned = {one.episode_id for one in units}
        projected = project_ward(pictures, self.terms, Period(now, horizon.until_at)).tasks
        on_duty = tuple(one.duty for one in ward.turns if one.duty.period.overlaps(horizon))
        rules = rules_of(
            LIMITS, self.policy, Period(horizon.from_at - BEHIND, horizon.until_at), UTC
        )
        return Problem(
            ward_id="ward",
            from_at=horizon.from_at,
            until_at=horizon.until_at,
            terms=self.terms,
            units=units,
            tasks=tuple(task for task in projected if task.episode_id not in planned),
            capacity=Capacity("ward", now, on_duty, rules),
            accepted={
                one: Earlier(start.check_at, start.nurse_id, start.second_id)
                for one, start in self.starts.items()
            },
        )
