"""How late units that cannot wait are at least, as if there were no others."""

from typing import Final

from server.domain.plan.laying import Draft
from server.domain.plan.weights import can_wait
from server.planning.budget import Budget
from server.planning.ground import Ground
from server.planning.levels import named_worths
from server.planning.model import WardModel
from server.planning.named import Named
from server.planning.narrowed import Slots, with_those_before
from server.planning.rows import add_rows

# How far above its bound lateness is looked for.
_LATER: Final = 90


def late_alone(ground: Ground, slots: Slots, unplaced: int, late: int, budget: Budget) -> int:
    """Answer what lateness comes to at least where no more is left out; `late` is its bound."""
    problem, most = ground.problem, late + _LATER
    units = [one for one in problem.units if not can_wait(one)]
    model = WardModel(
        ground.alone(with_those_before(problem, units)), slots, Draft(()), is_whole=False
    )
    for place in model.places:
        for at, slot in place.slots.items():
            if model.worth.late(place.unit, at) > most:
                model.schedule.shut(slot)
    add_rows(model, is_counted=False)
    left_out, lateness, *_ = named_worths(model, Named(model))
    model.schedule.model.add(left_out <= unplaced)
    relaxed = budget.relax(model.schedule.model, lateness)
    return most + 1 if relaxed is None else min(relaxed.least, most + 1)
