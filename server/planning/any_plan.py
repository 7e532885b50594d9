"""Is there any plan at some bounds? Searched over intervals, with every piece of work told."""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum, auto
from typing import Final

from server.domain.plan.laying import Draft
from server.planning.budget import Budget
from server.planning.ground import Ground
from server.planning.levels import keep_to, whole_worths
from server.planning.model import WardModel
from server.planning.narrowed import Slots
from server.planning.rows import add_rows
from server.planning.work import add_work

# Of what is left, for looking.
_SHARE: Final = 0.8


class Found(Enum):
    """What a search at the bounds came to.

    `BEST`: a plan that comes to them, and where comfort was searched the best of them. `FARTHER`:
    proven that comfort is worse than was looked for. `NONE`: proven that none of the slots it was
    given make a plan. `UNKNOWN`: none of these before time was over.
    """

    BEST = auto()
    FARTHER = auto()
    NONE = auto()
    UNKNOWN = auto()


Looked = tuple[Found, Draft | None]
UNKNOWN: Looked = (Found.UNKNOWN, None)


@dataclass(frozen=True, slots=True)
class AnyPlan:
    """What is looked for: a plan whose levels come to no more than the bounds, None: to anything.

    `is_filled`: no work that follows a start may be missed.
    """

    ground: Ground
    slots: Slots
    begin: Draft
    bounds: Sequence[int | None]
    is_filled: bool

    def __call__(self, budget: Budget) -> Looked:
        """Look for it; comfort is not searched, so that the first one found will do."""
        if budget.is_over:
            return UNKNOWN
        model = WardModel(self.ground, self.slots, self.begin, is_filled=self.is_filled)
        add_work(model)
        add_rows(model)
        keep_to(model, whole_worths(model), self.bounds)
        answer = budget.solve(model.schedule, _SHARE, afresh=True)
        if answer.values:
            return Found.BEST, model.draft(answer)
        return (Found.NONE, None) if answer.is_infeasible else UNKNOWN
