"""Wishes: what the charge nurse fixed by hand, and what a planner then keeps to."""

from collections.abc import Iterable
from dataclasses import dataclass, field, replace

from server.domain.plan.problem import Pin, PlanUnit, Problem
from server.domain.workload.period import Period


@dataclass(frozen=True, slots=True)
class Wish:
    """What is wished for one unit: a fixed start or people, and times at which it is not wanted."""

    episode_id: str
    pin: Pin = field(default_factory=Pin)
    forbidden: tuple[Period, ...] = ()

    @property
    def is_empty(self) -> bool:
        """Whether nothing at all is wished."""
        return self.pin == Pin() and not self.forbidden


def with_wish(wishes: Iterable[Wish], wish: Wish) -> tuple[Wish, ...]:
    """Answer wishes with that of one unit replaced, by episode id; an empty one is taken out."""
    kept = [one for one in wishes if one.episode_id != wish.episode_id]
    listed = kept if wish.is_empty else [*kept, wish]
    return tuple(sorted(listed, key=lambda one: one.episode_id))


def wish_for(wishes: Iterable[Wish], episode_id: str) -> Wish:
    """Answer what is wished for a unit, an empty wish where nothing is."""
    return next((one for one in wishes if one.episode_id == episode_id), Wish(episode_id))


def keep_wishes(problem: Problem, wishes: Iterable[Wish]) -> Problem:
    """Answer the problem with the wishes for its units; wishes for others are left aside."""
    wished = {one.episode_id: one for one in wishes}
    units = tuple(_wished(unit, wished.get(unit.episode_id)) for unit in problem.units)
    return replace(problem, units=units)


def _wished(unit: PlanUnit, wish: Wish | None) -> PlanUnit:
    return unit if wish is None else replace(unit, pin=wish.pin, forbidden=wish.forbidden)
