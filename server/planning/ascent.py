"""Plans at the bounds: is there one, and which of them is the best for comfort?

The bounds of all levels before comfort are kept, and people are named slot by slot. Only what a
plan can take whose comfort lies within reach of its bound is in the model: the relaxation says of
each slot, and of each person at it, by how much it makes every plan dearer. Where there is no plan
at the bounds they rise to the next that one could come to.
"""

from collections.abc import Iterator, Sequence
from dataclasses import astuple, replace
from enum import Enum, auto
from typing import Final

from server.domain.plan.laying import Draft, Key, draft
from server.domain.plan.problem import Problem
from server.domain.plan.score import next_overload, score
from server.domain.plan.way import follow_ups
from server.domain.plan.weights import NIGHT_START, can_wait
from server.domain.workload.period import Period
from server.planning.budget import ROWS, Budget
from server.planning.core import Schedule
from server.planning.levels import keep_to, named_worths, slot_worths
from server.planning.model import WardModel, laid_in
from server.planning.named import Named
from server.planning.narrowed import Slots, taken, with_those_before
from server.planning.relaxation import Relaxed
from server.planning.rows import add_rows
from server.planning.values import Answer, Level, Sum
from server.planning.work import add_work

Bounds = tuple[int, ...]

# Where the bounds are not closed, every slot is searched with people named by intervals up to so
# many units; of larger wards a plan that misses a little is looked for instead.
WHOLE: Final = 25
# How far above its bound comfort is looked for, in its minutes: while people are counted, and once
# the bound with people named is known, which lies much closer.
_REACH: Final = 60
_CLOSE: Final = 5
# How far above its bound lateness is looked for.
_LATER: Final = 90
# So often the bounds rise; after that it is likelier that more units are late or left out, which
# the whole model finds out.
_RISES: Final = 3
# Of what is left: for finding comfort, for a plan of slots that are known, for any plan at all.
_COMFORT_SHARE, _LAYING_SHARE, _ANY_SHARE = 0.5, 0.3, 0.5
# How many minutes of work more than at the bounds a plan may miss.
_MISSED: Final = 45


class Found(Enum):
    """What a search at the bounds came to.

    `FARTHER`: comfort is worse than was looked for; `NONE`: there is no plan, as far as it looked.
    """

    BEST = auto()
    FARTHER = auto()
    NONE = auto()
    UNKNOWN = auto()


class Ascent:
    """A search at bounds that rise until some plan comes to them; `plans` are those it found."""

    def __init__(
        self, problem: Problem, slots: Slots, begin: Draft, bounds: Bounds, budget: Budget
    ) -> None:
        """Begin at what people who are only counted come to; no work is missed there."""
        self.problem, self._slots, self._begin = problem, slots, begin
        self.bounds, self._budget = bounds, budget
        self.plans: list[Draft] = []
        self._is_filled, self._told = True, set[Key]()

    def run(self) -> None:
        """Raise the bounds as long as it is proven that no plan comes to them."""
        for rise in range(_RISES):
            found = self._at_bounds()
            if found is Found.BEST:
                return
            # Where a plan is in force the bound of changes could be what has to rise.
            if found is not Found.NONE or self.problem.accepted:
                break
            if rise > 0 or not self._raise_late():
                self._raise_overload()
        if len(self.problem.units) > WHOLE:
            self._miss_little()
            if not self._has_come:
                self._miss_nothing()

    def _at_bounds(self) -> Found:
        """Search comfort among plans at the bounds, further and further from its own bound."""
        counted = self._counted(self._slots)
        relaxed = self._relaxed(counted, slot_worths(counted))
        if relaxed is None:
            return Found.NONE
        reach, is_sure = _REACH, False
        while not self._budget.is_over:
            most = self.bounds[-1] + reach
            found = self._within(taken(counted, relaxed, most), most)
            if found is Found.UNKNOWN and not is_sure:
                # What is best among the plans there is open: at least one of them is wanted.
                self._any()
            if found in {Found.BEST, Found.UNKNOWN}:
                return found
            if self.bounds[-1] > most:
                continue
            # Where choices may be fractions there is a plan: then mostly there is one farther off.
            if not is_sure and (found is Found.NONE or reach > _REACH):
                if (answer := self._any()) is not Found.BEST:
                    return answer
                is_sure = True
            self._learn(relaxed.reached(most + 1))
            reach *= 2
        return Found.UNKNOWN

    def _within(self, slots: Slots, most: int) -> Found:
        """Search plans whose comfort comes to no more than that."""
        while not self._budget.is_over:
            model = self._counted(slots, is_counted=False)
            named = Named(model, self._told)
            worths = named_worths(model, named)
            relaxed = self._relaxed(model, worths)
            if relaxed is None or relaxed.least > most:
                return Found.NONE if relaxed is None else Found.FARTHER
            answer = self._closest(model.schedule, worths[-1], relaxed, most)
            if answer.is_infeasible:
                return Found.FARTHER
            if not answer.values:
                return Found.UNKNOWN
            plan = draft(self.problem, named.placings(answer))
            if self._comes_to(plan, answer, model):
                is_best = answer.levels[-1].worth == self.bounds[-1]
                return Found.BEST if is_best else Found.UNKNOWN
            if not self._tell(plan):
                return Found.UNKNOWN
        return Found.UNKNOWN

    def _closest(self, schedule: Schedule, comfort: Sum, relaxed: Relaxed, most: int) -> Answer:
        """Search comfort close to its bound first, with nothing in the model that is dearer."""
        close = _CLOSE
        while True:
            near = min(most, self.bounds[-1] + close)
            within = schedule.copy()
            for variable in within.variables:
                if not relaxed.within(variable, near):
                    within.shut(variable)
            within.model.add(comfort <= near)
            within.minimise(Level("comfort", comfort, self.bounds[-1]))
            answer = self._budget.solve(within, _COMFORT_SHARE, ROWS)
            self._learn(relaxed.reached(answer.levels[-1].bound or 0))
            if not answer.is_infeasible or near == most:
                return answer
            self._learn(relaxed.reached(near + 1))
            close *= 2

    def _comes_to(self, plan: Draft, answer: Answer, model: WardModel) -> bool:
        """Keep a plan; answer whether it, or another with its slots, comes to the bounds."""
        self.plans.append(plan)
        bounds = (*self.bounds[:-1], answer.levels[-1].worth)
        if astuple(score(self.problem, plan.starts, plan.laid)) == bounds:
            return True
        return self._whole(model.taken(answer), plan, bounds, _LAYING_SHARE) is Found.BEST

    def _miss_little(self) -> None:
        """Keep a plan that misses a little work, where none was found that comes to the bounds."""
        proven = self.bounds
        self.bounds = (*proven[:2], proven[2] + _MISSED, proven[3], 0)
        self._is_filled = False
        counted = self._counted(self._slots)
        relaxed = self._relaxed(counted, slot_worths(counted))
        if relaxed is not None:
            most = self.bounds[-1] + _REACH
            self._within(taken(counted, relaxed, most), most)
        self.bounds = proven

    def _miss_nothing(self) -> None:
        """Keep a plan without missed work that needs at most one start at night more."""
        unplaced, late, overload, changes, _ = self.bounds
        self._is_filled = True
        bounds = (unplaced, late, overload + NIGHT_START, changes, None)
        self._whole(self._slots, self._begin, bounds, _ANY_SHARE)

    @property
    def _has_come(self) -> bool:
        """Whether a plan came to the bounds before comfort."""
        worths = (score(self.problem, one.starts, one.laid) for one in self.plans)
        return any(astuple(one)[:-1] == self.bounds[:-1] for one in worths)

    def _any(self) -> Found:
        """Look whether any plan comes to the bounds before comfort; of large wards nobody knows."""
        if len(self.problem.units) > WHOLE:
            return Found.UNKNOWN
        return self._whole(self._slots, self._begin, (*self.bounds[:-1], None), _ANY_SHARE)

    def _whole(
        self, slots: Slots, begin: Draft, bounds: Sequence[int | None], share: float
    ) -> Found:
        """Look for a plan at some bounds with every piece of work told."""
        model = WardModel(self.problem, slots, begin, is_filled=self._is_filled)
        add_work(model)
        add_rows(model)
        keep_to(model, bounds)
        answer = self._budget.solve(model.schedule, share, afresh=True)
        if answer.values:
            self.plans.append(model.draft(answer))
            return Found.BEST
        return Found.NONE if answer.is_infeasible else Found.UNKNOWN

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
        units = [one for one in self.problem.units if not can_wait(one)]
        alone = replace(self.problem, units=tuple(with_those_before(self.problem, units)))
        model = WardModel(alone, self._slots, Draft(()), is_whole=False)
        most = self.bounds[1] + _LATER
        for place in model.places:
            for at, slot in place.slots.items():
                if model.worth.late(place.unit, at) > most:
                    model.schedule.shut(slot)
        add_rows(model, is_counted=False)
        unplaced, late, *_ = named_worths(model, Named(model))
        model.schedule.model.add(unplaced <= self.bounds[0])
        relaxed = self._budget.relax(model.schedule.model, late)
        return most + 1 if relaxed is None else min(relaxed.least, most + 1)

    def _raise_overload(self) -> None:
        """Let one more piece of work be missed, or one more start fall into the night."""
        unplaced, late, overload, *_ = self.bounds
        self.bounds = (unplaced, late, next_overload(self.problem, overload), 0, 0)
        self._is_filled = False

    def _counted(self, slots: Slots, *, is_counted: bool = True) -> WardModel:
        model = WardModel(
            self.problem, slots, self._begin, is_whole=False, is_filled=self._is_filled
        )
        add_rows(model, is_counted=is_counted)
        return model

    def _relaxed(self, model: WardModel, worths: Sequence[Sum]) -> Relaxed | None:
        """Relax comfort at the bounds of the levels before."""
        *before, comfort = worths
        for worth, bound in zip(before, self.bounds, strict=False):
            model.schedule.model.add(worth <= bound)
        relaxed = self._budget.relax(model.schedule.model, comfort)
        if relaxed is not None:
            self._learn(relaxed.least)
        return relaxed

    def _learn(self, comfort: int) -> None:
        self.bounds = (*self.bounds[:-1], max(self.bounds[-1], comfort))

    def _tell(self, plan: Draft) -> bool:
        """Tell what a plan misses and what could lie in its place; answer whether that is more."""
        laid, known = laid_in(plan), len(self._told)
        pieces = list(self._pieces(plan))
        for key, who, window in pieces:
            if key not in laid:
                self._told |= {one for one, of, at in pieces if of == who and at.overlaps(window)}
        return len(self._told) > known

    def _pieces(self, plan: Draft) -> Iterator[tuple[Key, str, Period]]:
        """What follows the starts of a plan: by whom, and from when until when it could be done."""
        units = {unit.episode_id: unit for unit in self.problem.units}
        for start in plan.starts:
            for one in follow_ups(units[start.episode_id], self.problem.terms):
                first, last = min(one.offsets), max(one.offsets) + one.length
                window = Period(start.check_at + first, start.check_at + last)
                yield (start.episode_id, one.work, one.n), start.nurse_id, window
