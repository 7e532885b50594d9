"""What all models of one ward read from its problem, worked out once for all of them."""

from collections.abc import Iterable
from dataclasses import dataclass, replace

from server.domain.plan.problem import PlanUnit, Problem
from server.domain.plan.score import Worth
from server.planning.openings import Openings
from server.planning.scale import Scale


@dataclass(frozen=True, slots=True)
class Ground:
    """A problem with what units cost in it, its minutes, and when its people are free."""

    problem: Problem
    worth: Worth
    scale: Scale
    openings: Openings

    @classmethod
    def of(cls, problem: Problem) -> "Ground":
        """Work it out."""
        return cls(problem, Worth.of(problem), Scale(problem.from_at), Openings(problem))

    def alone(self, units: Iterable[PlanUnit]) -> "Ground":
        """The same ward with some of its units; people are as free as before."""
        problem = replace(self.problem, units=tuple(units))
        return replace(self, problem=problem, worth=Worth.of(problem))
