"""A part of a ward for a smaller model: some of its slots, or some of its units."""

from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime

from server.domain.plan.problem import PlanUnit, Problem
from server.planning.model import WardModel
from server.planning.relaxation import Relaxed

Slots = Mapping[str, Sequence[datetime]]


def taken(model: WardModel, relaxed: Relaxed, most: int) -> Slots:
    """Answer the slots that a plan can take whose comfort comes to no more than that."""
    return {
        one.unit.episode_id: [at for at, slot in one.slots.items() if relaxed.within(slot, most)]
        for one in model.places
    }


def with_those_before(problem: Problem, units: Sequence[PlanUnit]) -> Iterator[PlanUnit]:
    """Answer some units and those they wait for, in the order of the problem."""
    before = {unit.episode_id: unit.after for unit in problem.units}
    wanted = set[str | None]()
    for unit in units:
        one: str | None = unit.episode_id
        while one is not None and one not in wanted:
            wanted.add(one)
            one = before.get(one)
    return (unit for unit in problem.units if unit.episode_id in wanted)
