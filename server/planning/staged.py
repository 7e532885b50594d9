"""The stages of a plan: slots with people counted, then plans at the bounds, then all of it.

The first stage is small and close: what it proves can cost no less for the ward either. The second
(`ascent.py`) looks for the best plan at those bounds, and raises them where there is none. Where it
found none, names are sought near the slots of the first. What is still open is searched with every
slot up to `WHOLE` units, above that only around the best plan so far.
"""

from collections.abc import Callable, Sequence
from dataclasses import astuple
from datetime import datetime, timedelta
from threading import Event
from typing import Final

from server.domain.plan.alone import candidates
from server.domain.plan.laying import Draft
from server.domain.plan.list_rule import list_rule
from server.domain.plan.problem import Problem
from server.domain.plan.proposal import Objective, Progress
from server.domain.plan.score import score
from server.planning.ascent import WHOLE, Ascent
from server.planning.budget import ROWS, Budget
from server.planning.ground import Ground
from server.planning.levels import add_levels, add_repair_levels, add_slot_levels
from server.planning.model import WardModel
from server.planning.narrowed import Slots
from server.planning.rows import add_rows
from server.planning.solve import pace
from server.planning.values import Limits
from server.planning.work import add_work

AROUND: Final = timedelta(minutes=10)
_COUNTING_SHARE: Final = 0.4
_NAMING_SHARE: Final = 0.25


class Stages:
    """One search for a plan, stage after stage; `plan` is the best so far, `worth` its worth.

    `bounds` is by level what cannot be beaten, given that the levels before came to theirs.
    """

    def __init__(
        self,
        problem: Problem,
        limits: Limits,
        progress: Callable[[Progress], None] | None = None,
        cancel: Event | None = None,
    ) -> None:
        """Begin with what the list rule finds."""
        self.problem, self.ground = problem, Ground.of(problem)
        self._budget = Budget(limits, pace(problem), progress, cancel)
        self.slots: Slots = {one.episode_id: candidates(problem, one) for one in problem.units}
        self.plan = list_rule(problem, None, self.slots)
        self.worth = self._worth(self.plan)
        self.bounds: tuple[int, ...] = (0,) * len(astuple(self.worth))

    def run(self) -> None:
        """Better the plan until it is proven or the time is over; it never gets worse."""
        counted = self._count()
        if counted:
            named = list_rule(self.problem, None, counted)
            self.take(named)
            ascent = Ascent(self.ground, self.slots, self.plan, self.bounds, self._budget)
            ascent.run()
            self.bounds = ascent.bounds
            for plan in ascent.plans:
                self.take(plan)
            if not ascent.plans and not self._budget.is_over:
                self._search(self._near(counted), named, _NAMING_SHARE)
        if self.is_proven or self._budget.is_over:
            return
        if len(self.problem.units) <= WHOLE:
            self.bounds = max(self.bounds, self._search(self.slots, self.plan, 1.0))
        else:
            self._search(self.around(), self.plan, 1.0)

    @property
    def is_proven(self) -> bool:
        """Whether the best plan so far comes to its bounds."""
        return astuple(self.worth) == self.bounds

    def _count(self) -> Slots:
        """Answer the slots of units while people are only counted; empty where none were found."""
        model = WardModel(self.ground, self.slots, self.plan, is_whole=False)
        add_work(model)
        add_rows(model)
        add_slot_levels(model)
        answer = self._budget.solve(model.schedule, _COUNTING_SHARE, ROWS)
        self.bounds = tuple(level.bound or 0 for level in answer.levels)
        return model.taken(answer) if answer.values else {}

    def _search(self, slots: Slots, begin: Draft, share: float) -> tuple[int, ...]:
        """Everything at once; the bounds are those of these slots, none where nothing was found."""
        model = WardModel(self.ground, slots, begin)
        add_work(model)
        add_rows(model)
        add_levels(model, self.bounds)
        answer = self._budget.solve(model.schedule, share)
        if not answer.values:
            return ()
        self.take(model.draft(answer))
        return tuple(level.bound or 0 for level in answer.levels)

    def take(self, plan: Draft) -> None:
        """Keep a plan that is better; one of the same worth does not take its place."""
        worth = self._worth(plan)
        if worth < self.worth:
            self.plan, self.worth = plan, worth

    def _worth(self, plan: Draft) -> Objective:
        return score(self.problem, plan.starts, plan.laid, self.ground.worth)

    def around(self) -> Slots:
        """The slots near those of the plan so far; all of them for a unit that has none."""
        return self._near({one.episode_id: [one.check_at] for one in self.plan.starts})

    def _near(self, taken: Slots) -> Slots:
        return {
            one: [at for at in slots if _is_near(at, taken.get(one, ()))]
            for one, slots in self.slots.items()
        }


def _is_near(at: datetime, taken: Sequence[datetime]) -> bool:
    return not taken or any(abs(at - one) <= AROUND for one in taken)


def mend(
    problem: Problem, quick: Draft, change: int, limits: Limits, cancel: Event | None = None
) -> Draft:
    """Search for a better repair from a quick one, each changed start costing `change` minutes.

    Where the quick one places every unit, no more starts change than it changes.
    """
    stages = Stages(problem, limits, cancel=cancel)
    stages.plan = quick
    worth = score(problem, quick.starts, quick.laid)
    slots = stages.slots if len(problem.units) <= WHOLE else stages.around()
    model = WardModel(stages.ground, slots, quick)
    add_work(model)
    add_rows(model)
    add_repair_levels(model, change, None if worth.unplaced else worth.changes)
    answer = model.schedule.solve(limits, None, cancel)
    return model.draft(answer) if answer.values else quick
