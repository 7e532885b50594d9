"""What is left of a search that goes through several models, in the solver's steps and by clock."""

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from threading import Event
from time import monotonic
from typing import Final

from ortools.sat.python import cp_model

from server.domain.plan.proposal import Progress
from server.planning.core import Schedule
from server.planning.relaxation import Relaxed, relax
from server.planning.values import Answer, Limits, Sum

# In the time of one step of a model of intervals the solver takes about so many in one of rows.
ROWS: Final = 5
# Steps that relaxing a model takes, for each of its variables.
_RELAXING: Final = 6e-6


@dataclass(slots=True)
class Budget:
    """Everything that is solved for one plan is paid from it; `used` counts in steps."""

    limits: Limits
    progress: Callable[[Progress], None] | None = None
    cancel: Event | None = None
    begun: float = field(default_factory=monotonic)
    used: float = 0.0

    @property
    def seconds(self) -> float:
        """What is left by the clock on the wall; building models counts as well."""
        return self.limits.seconds - (monotonic() - self.begun)

    @property
    def is_over(self) -> bool:
        """Whether nothing is left, or somebody cancelled the search."""
        is_cancelled = self.cancel is not None and self.cancel.is_set()
        return is_cancelled or self.used >= self.limits.work or self.seconds <= 0

    def solve(self, schedule: Schedule, share: float = 1.0, pace: int = 1) -> Answer:
        """Search with a share of what is left."""
        left = replace(
            self.limits,
            work=max(0.0, self.limits.work - self.used) * share * pace,
            seconds=max(0.0, self.seconds * share),
        )
        answer = schedule.solve(left, self.progress, self.cancel)
        self.used += answer.work / pace
        return answer

    def relax(self, model: cp_model.CpModel, worth: Sum) -> Relaxed | None:
        """Answer what a sum comes to at least; a relaxation is never cut off."""
        self.used += _RELAXING * len(model.proto.variables)
        return relax(model, worth)
