"""The whole model of a ward, built on the general form.

For each unit: at which slot it is checked, by whom, and by whom checked with them; for each piece
of work that may move: where it lies, or that nobody is free for it. What a unit costs or breaks by
itself is read slot by slot from `server.domain.plan`, so that no rule is spelt twice.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import TypeVar

from server.domain.plan.laying import Draft, Key, Laid, draft
from server.domain.plan.people import named_for
from server.domain.plan.problem import PlanUnit
from server.domain.plan.way import Placing
from server.planning.core import Schedule
from server.planning.ground import Ground
from server.planning.values import Answer, Sum, Variable, evaluate, weighted

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Place:
    """The choices for one unit. `slots` by the instant of the check; `at` is its minute."""

    unit: PlanUnit
    left_out: Variable
    at: Variable
    slots: Mapping[datetime, Variable]
    nurses: Mapping[str, Variable]
    seconds: Mapping[str, Variable]


@dataclass(frozen=True, slots=True)
class Laying:
    """The choice for one piece of work: whether it is done, and at which minute it begins."""

    key: Key
    done: Sum
    at: Sum
    length: int


class WardModel:
    """The choices of one ward, each begun where a known plan has it."""

    def __init__(
        self,
        ground: Ground,
        slots: Mapping[str, Sequence[datetime]],
        begin: Draft,
        *,
        is_whole: bool = True,
        is_filled: bool = False,
    ) -> None:
        """Make the choices over the slots that each unit may take.

        Where it is not whole, people are counted and only a unit's own nurse is told apart: every
        plan of the ward is one of it too, so that its bounds are bounds for the ward. Where it is
        filled, no work that follows a start may be missed: fewer choices, and fewer plans.
        """
        self.problem, self.worth = ground.problem, ground.worth
        self.is_whole, self.is_filled = is_whole, is_filled
        self.scale, self.openings = ground.scale, ground.openings
        self.schedule = Schedule()
        self.begin = {start.episode_id: start for start in begin.starts}
        self.laid_at_begin = laid_in(begin)
        self.layings: list[Laying] = []
        self.places = [self._place(unit, slots[unit.episode_id]) for unit in ground.problem.units]

    def choice(self, *, begin: bool) -> Variable:
        """A yes or no that begins as the known plan has it."""
        made = self.schedule.choice()
        self.schedule.hint(made, int(begin))
        return made

    def whole(self, values: Iterable[int], begin: int) -> Variable:
        """A whole number that begins as the known plan has it."""
        made = self.schedule.whole(values)
        self.schedule.hint(made, begin)
        return made

    def taken(self, answer: Answer) -> dict[str, list[datetime]]:
        """Read by unit which slot an answer takes; none for a unit that is left out."""
        return {
            one.unit.episode_id: [at for at, slot in one.slots.items() if answer[slot]]
            for one in self.places
        }

    def placings(self, answer: Answer) -> dict[str, Placing]:
        """Read the places of units from an answer."""
        return {
            one.unit.episode_id: Placing(
                chosen(one.slots, answer), chosen(one.nurses, answer), self._second(one, answer)
            )
            for one in self.places
            if not answer[one.left_out]
        }

    def laid(self, answer: Answer) -> Laid:
        """Read from an answer where pieces lie."""
        done = [one for one in self.layings if evaluate(one.done, answer.values)]
        return {one.key: self.scale.at(evaluate(one.at, answer.values)) for one in done}

    def draft(self, answer: Answer) -> Draft:
        """Answer the plan, every piece as near to due as the others let it."""
        return draft(self.problem, self.placings(answer), self.laid(answer))

    def _second(self, one: Place, answer: Answer) -> str | None:
        return chosen(one.seconds, answer) if one.seconds else None

    def _place(self, unit: PlanUnit, slots: Sequence[datetime]) -> Place:
        start = self.begin.get(unit.episode_id)
        nurses, seconds = self._nurses(unit), self._seconds(unit)
        left_out = self.choice(begin=start is None)
        minutes = [self.scale.floor(at) for at in slots] or [0]
        at = self.whole(minutes, minutes[0] if start is None else self.scale.floor(start.check_at))
        place = Place(
            unit,
            left_out,
            at,
            {one: self.choice(begin=start is not None and start.check_at == one) for one in slots},
            {one: self.choice(begin=start is not None and start.nurse_id == one) for one in nurses},
            {
                one: self.choice(begin=start is not None and start.second_id == one)
                for one in seconds
            },
        )
        self._exactly_one(place, minutes)
        return place

    def _seconds(self, unit: PlanUnit) -> list[str]:
        needed = self.is_whole and self.problem.terms.checkers > 1
        return self.openings.seconds(unit) if needed else []

    def _nurses(self, unit: PlanUnit) -> list[str]:
        able = self.openings.starters(unit)
        own = named_for(self.problem, unit)
        return able if self.is_whole else [who for who in able if who in own]

    def _exactly_one(self, place: Place, minutes: Sequence[int]) -> None:
        """One slot, one nurse, one second person who is somebody else, or left out."""
        model = self.schedule.model
        model.add_exactly_one(place.left_out, *place.slots.values())
        if self.is_whole:
            self._two_people(place)
        else:
            model.add_at_most_one(place.left_out, *place.nurses.values())
        self._only_who_is_free(place)
        taken = weighted(zip(place.slots.values(), minutes, strict=False))
        model.add(place.at == taken + minutes[0] * place.left_out)

    def _two_people(self, place: Place) -> None:
        """A nurse and, where two check, somebody else."""
        model = self.schedule.model
        model.add_exactly_one(place.left_out, *place.nurses.values())
        if self.problem.terms.checkers > 1:
            model.add_exactly_one(place.left_out, *place.seconds.values())
        for who in sorted(place.nurses.keys() & place.seconds.keys()):
            model.add_at_most_one(place.nurses[who], place.seconds[who])

    def _only_who_is_free(self, place: Place) -> None:
        """A slot and somebody who is not there then exclude each other."""
        model = self.schedule.model
        for who, choice in place.nurses.items():
            shut = [
                slot
                for at, slot in place.slots.items()
                if not self.openings.starts(who, place.unit, at)
            ]
            model.add_at_most_one(choice, *shut)
        for who, choice in place.seconds.items():
            shut = [slot for at, slot in place.slots.items() if not self.openings.checks(who, at)]
            model.add_at_most_one(choice, *shut)


def laid_in(plan: Draft) -> dict[Key, datetime]:
    """Answer where a plan lays each piece of work that may move."""
    checks = {
        (start.episode_id, one.work, one.n): one.at for start in plan.starts for one in start.checks
    }
    return checks | {(one.episode_id, one.work, one.n): one.at for one in plan.laid}


def chosen(choices: Mapping[T, Variable], answer: Answer) -> T:
    """Answer which of some choices an answer takes."""
    return next(one for one, choice in choices.items() if answer[choice])
