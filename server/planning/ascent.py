"""Plans at the bounds: is there one, and which of them is the best for comfort?

The bounds of all levels before comfort are kept, and people are named slot by slot. Only what a
plan can take whose comfort lies within reach of its bound is in the model: the relaxation says of
each slot, and of each person at it, by how much it makes every plan dearer. Where there is no plan
at the bounds they rise to the next that one could come to.
"""

from collections.abc import Callable, Sequence
from dataclasses import astuple
from typing import Final

from server.domain.plan.laying import Draft, Key, draft
from server.domain.plan.score import next_overload, score
from server.domain.plan.weights import NIGHT_START
from server.planning.any_plan import UNKNOWN, AnyPlan, Found, Looked
from server.planning.aside import Aside
from server.planning.budget import ROWS, Budget
from server.planning.close import Close
from server.planning.core import Schedule
from server.planning.ground import Ground
from server.planning.late_alone import late_alone
from server.planning.levels import keep_to, named_worths, slot_worths
from server.planning.model import WardModel
from server.planning.named import Named
from server.planning.narrowed import Slots, taken
from server.planning.relaxation import Relaxed
from server.planning.rows import add_rows
from server.planning.untold import untold
from server.planning.values import Answer, Sum

Bounds = tuple[int, ...]

# Where the bounds are not closed, every slot is searched with people named by intervals up to so
# many units; of larger wards a plan that misses a little is looked for instead.
WHOLE: Final = 25
# How far above its bound comfort is looked for while people are counted, in its minutes.
_REACH: Final = 60
# And how far, once it is known what the best plan comes to that has no room for some of its work.
_NEAR: Final = 15
# So often the bounds rise; after that it is likelier that more units are late or left out, which
# the whole model finds out.
_RISES: Final = 3
# Of what is left, for a plan of slots that are known.
_LAYING_SHARE: Final = 0.3
# How many minutes of work more than at the bounds a plan may miss.
_MISSED: Final = 45


class Ascent:
    """A search at bounds that rise until some plan comes to them; `plans` are those it found."""

    def __init__(
        self, ground: Ground, slots: Slots, begin: Draft, bounds: Bounds, budget: Budget
    ) -> None:
        """Begin at what people who are only counted come to; no work is missed there."""
        self._ground, self.problem = ground, ground.problem
        self._slots, self._begin = slots, begin
        self.bounds, self._budget = bounds, budget
        self.plans: list[Draft] = []
        self._is_filled, self._told = True, set[Key]()
        self._is_large = len(self.problem.units) > WHOLE
        self._least_late: int | None = None
        self._likely = 0

    def run(self) -> None:
        """Look for plans at bounds that rise; of large wards also for those that miss a little."""
        if self._budget.is_over:
            return
        if not self._is_large:
            self._rise()
            return
        with Aside(self._budget, self._nothing_missed()) as beside:
            self._rise()
            if not self._has_come:
                self._miss_little()
            if not self._has_come:
                self._keep(beside.answer())

    def _rise(self) -> None:
        """Raise the bounds as long as it is proven that no plan comes to them."""
        for rise in range(_RISES):
            # Where a plan is in force the bound of changes could be what has to rise.
            if self._at_bounds() is not Found.NONE or self.problem.accepted:
                return
            if rise > 0 or not self._raise_late():
                self._raise_overload()

    def _at_bounds(self) -> Found:
        """Search comfort among plans at the bounds; beside it, until names are searched, any."""
        if self._budget.is_over:
            return Found.UNKNOWN
        with Aside(self._budget, self._any_plan(), is_begun=not self._is_large) as anything:
            return self._in_reach(anything)

    def _in_reach(self, anything: Aside[Looked]) -> Found:
        """Search comfort further and further from its own bound."""
        counted = self._counted(self._slots)
        relaxed = self._relaxed(counted, slot_worths(counted))
        if relaxed is None:
            return Found.NONE
        reach, is_sure, self._likely = _REACH, False, 0
        while not self._budget.is_over:
            most = max(self.bounds[-1] + reach, self._likely + _NEAR)
            found = self._within(taken(counted, relaxed, most), most, anything)
            if found is Found.UNKNOWN and not is_sure and not self._has_come:
                # What is best among the plans there is open: at least one of them is wanted.
                self._keep(anything.answer())
            if found in {Found.BEST, Found.UNKNOWN}:
                return found
            if self.bounds[-1] > most:
                continue
            # Where choices may be fractions there is a plan: then mostly there is one farther off.
            if not is_sure and (found is Found.NONE or reach > _REACH):
                if (answer := self._surely(found, anything)) is not Found.BEST:
                    return answer
                is_sure = True
            self._learn(relaxed.reached(most + 1))
            reach *= 2
        return Found.UNKNOWN

    def _surely(self, found: Found, anything: Aside[Looked]) -> Found:
        """Answer whether any plan comes to the bounds: by what is late alone, or by looking."""
        if found is Found.NONE and not self._is_large and self._late_alone() > self.bounds[1]:
            return found
        return self._keep(anything.answer())

    def _within(self, slots: Slots, most: int, anything: Aside[Looked] | None = None) -> Found:
        """Search plans whose comfort comes to no more than that, near to the best known first."""
        near, nearer = most, slots
        while not self._budget.is_over:
            found, nearer = self._searched(nearer, near, anything)
            if nearer:
                # Mostly there is a plan that is not much dearer: what is far from that is left out,
                # and stays so, though the best known gets dearer as more work is told.
                near = min(near, self.bounds[-1] + _NEAR)
            elif near < most and found in {Found.NONE, Found.FARTHER}:
                near, nearer = most, slots
            else:
                return found
        return Found.UNKNOWN

    def _searched(
        self, slots: Slots, most: int, anything: Aside[Looked] | None
    ) -> tuple[Found, Slots]:
        """Search plans over some slots, and answer over which to search on with more work told."""
        model = self._counted(slots, is_counted=False)
        named = Named(model, self._told)
        *_, comfort = worths = named_worths(model, named)
        relaxed = self._relaxed(model, worths, most)
        if relaxed is None or relaxed.least > most:
            return Found.NONE if relaxed is None else Found.FARTHER, {}
        if anything is not None:
            anything.stop()
        answer = self._closest(model.schedule, comfort, relaxed, most)
        if not answer.values:
            return Found.FARTHER if answer.is_infeasible else Found.UNKNOWN, {}
        plan = draft(self.problem, named.placings(answer), named.laid(answer))
        is_best = answer.levels[-1].worth == self.bounds[-1]
        if self._comes_to(plan, answer, model):
            return Found.BEST if is_best else Found.UNKNOWN, {}
        missed = untold(self.problem, plan) - self._told
        if not is_best or not missed:
            return Found.UNKNOWN, {}
        self._told |= missed
        return Found.UNKNOWN, taken(model, relaxed, min(most, self.bounds[-1] + _NEAR))

    def _closest(self, schedule: Schedule, comfort: Sum, relaxed: Relaxed, most: int) -> Answer:
        """Search comfort close to its bound first; beside it only where nothing else is."""
        close = Close(schedule, comfort, relaxed, self._budget, self.bounds[-1])
        answer = close.search(most, is_ahead=not self._is_large)
        self._learn(close.least)
        return answer

    def _comes_to(self, plan: Draft, answer: Answer, model: WardModel) -> bool:
        """Keep a plan; answer whether it, or another with its slots, comes to the bounds."""
        self.plans.append(plan)
        bounds = (*self.bounds[:-1], answer.levels[-1].worth or 0)
        if all(one <= most for one, most in zip(self._worth(plan), bounds, strict=True)):
            return True
        return self._lays(model.taken(answer), bounds)

    def _lays(self, slots: Slots, bounds: Sequence[int | None]) -> bool:
        """Keep a plan with these slots at some bounds, every piece of work told; answer if any."""
        model = self._counted(slots, is_counted=False)
        named = Named(model, told=None)
        keep_to(model, named_worths(model, named), bounds)
        answer = self._budget.solve(model.schedule, _LAYING_SHARE, ROWS, afresh=True)
        if answer.values:
            self.plans.append(draft(self.problem, named.placings(answer), named.laid(answer)))
        return bool(answer.values)

    def _miss_little(self) -> None:
        """Keep a plan that misses a little work, where none was found that comes to the bounds."""
        if self._budget.is_over:
            return
        proven = self.bounds
        self.bounds = (*proven[:2], proven[2] + _MISSED, proven[3], 0)
        self._is_filled = False
        counted = self._counted(self._slots)
        relaxed = self._relaxed(counted, slot_worths(counted))
        if relaxed is not None:
            most = self.bounds[-1] + _REACH
            self._within(taken(counted, relaxed, most), most)
        self.bounds = proven

    def _nothing_missed(self) -> Callable[[Budget], Looked]:
        """Look for a plan without missed work that needs at most one start at night more."""
        unplaced, late, overload, changes, _ = self.bounds
        return self._looking((unplaced, late, overload + NIGHT_START, changes, None))

    @property
    def _has_come(self) -> bool:
        """Whether a plan came to the bounds before comfort."""
        return any(self._worth(one)[:-1] == self.bounds[:-1] for one in self.plans)

    def _worth(self, plan: Draft) -> Bounds:
        return astuple(score(self.problem, plan.starts, plan.laid, self._ground.worth))

    def _any_plan(self) -> Callable[[Budget], Looked]:
        """Look whether any plan comes to the bounds before comfort; of large wards nobody knows."""
        if self._is_large:
            return lambda _: UNKNOWN
        return self._looking((*self.bounds[:-1], None))

    def _looking(self, bounds: Sequence[int | None]) -> AnyPlan:
        return AnyPlan(self._ground, self._slots, self._begin, bounds, self._is_filled)

    def _keep(self, looked: Looked) -> Found:
        """Keep a plan that was looked for, and answer what came of it."""
        found, plan = looked
        if plan is not None:
            self.plans.append(plan)
        return found

    def _raise_late(self) -> bool:
        """Raise the bound of lateness, and find that of overload anew; answer whether it rose."""
        least = self._late_alone()
        if least <= self.bounds[1]:
            return False
        self._is_filled = True
        counted = self._counted(self._slots)
        unplaced, late, night, *_ = slot_worths(counted)
        counted.schedule.model.add(unplaced <= self.bounds[0])
        counted.schedule.model.add(late <= least)
        relaxed = self._budget.relax(counted.schedule.model, night)
        self.bounds = (self.bounds[0], least, relaxed.least if relaxed else 0, 0, 0)
        return True

    def _late_alone(self) -> int:
        """Answer what the units that cannot wait come to at least, as if there were no others."""
        if self._least_late is None:
            unplaced, late, *_ = self.bounds
            self._least_late = late_alone(self._ground, self._slots, unplaced, late, self._budget)
        return self._least_late

    def _raise_overload(self) -> None:
        """Let one more piece of work be missed, or one more start fall into the night."""
        unplaced, late, overload, *_ = self.bounds
        self.bounds = (unplaced, late, next_overload(self.problem, overload), 0, 0)
        self._is_filled = False

    def _counted(self, slots: Slots, *, is_counted: bool = True) -> WardModel:
        model = WardModel(
            self._ground, slots, self._begin, is_whole=False, is_filled=self._is_filled
        )
        add_rows(model, is_counted=is_counted)
        return model

    def _relaxed(
        self, model: WardModel, worths: Sequence[Sum], most: int | None = None
    ) -> Relaxed | None:
        """Relax comfort at the bounds of the levels before; `most`: what is dearer is left out."""
        *before, comfort = worths
        for worth, bound in zip(before, self.bounds, strict=False):
            model.schedule.model.add(worth <= bound)
        relaxed = self._budget.relax(model.schedule.model, comfort)
        if relaxed is not None:
            # Within a reach it is proven no further than that, but shows how far to reach next.
            self._likely = max(self._likely, relaxed.least)
            self._learn(
                relaxed.least if most is None else min(relaxed.least, relaxed.reached(most + 1))
            )
        return relaxed

    def _learn(self, comfort: int) -> None:
        self.bounds = (*self.bounds[:-1], max(self.bounds[-1], comfort))
