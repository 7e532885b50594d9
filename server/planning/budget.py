"""What is left of a search that goes through several models, in the solver's steps and by clock."""

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from time import monotonic
from typing import Final

from ortools.sat.python import cp_model

from server.domain.plan.proposal import Progress
from server.planning.core import Schedule
from server.planning.relaxation import Relaxed, relax
from server.planning.values import Answer, Limits, Stopping, Sum

# Steps that building a model takes, and relaxing it, for each of its variables.
_BUILDING: Final = 4e-6
_RELAXING: Final = 5e-6


@dataclass(frozen=True, slots=True)
class Form:
    """How a model is built and searched; for `relaxed` and `presolve` see `Limits`.

    `pace`: the steps that it makes while one of intervals of a usual ward makes one; None: it is of
    intervals itself.
    """

    pace: float | None
    relaxed: int
    presolve: bool


# Of rows the linear relaxation knows most, of intervals little. Making a model smaller before the
# search begins pays where the search is long.
INTERVALS: Final = Form(None, relaxed=1, presolve=False)
ROWS: Final = Form(5.0, relaxed=2, presolve=False)
LONG_ROWS: Final = Form(8.0, relaxed=2, presolve=True)


@dataclass(frozen=True, slots=True)
class Either:
    """A search is ended by either of two."""

    one: Stopping
    other: Stopping | None

    def is_set(self) -> bool:
        """Whether one of them says so."""
        return self.one.is_set() or (self.other is not None and self.other.is_set())


@dataclass(slots=True)
class Budget:
    """Everything that is solved for one plan is paid from it; `used` counts in steps.

    A step is one of a model of intervals of a usual ward; `pace` is how many of its own the ward
    makes meanwhile.
    """

    limits: Limits
    pace: float
    progress: Callable[[Progress], None] | None = None
    cancel: Stopping | None = None
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

    def beside(self, stop: Stopping) -> "Budget":
        """As much as is left, for a search that goes on meanwhile and tells nobody of it."""
        limits = replace(
            self.limits, work=self.limits.work - self.used, seconds=max(0.0, self.seconds)
        )
        return Budget(limits, self.pace, None, Either(stop, self.cancel))

    def solve(
        self,
        schedule: Schedule,
        share: float = 1.0,
        form: Form = INTERVALS,
        *,
        afresh: bool = False,
    ) -> Answer:
        """Search with a share of what is left."""
        pace = form.pace or self.pace
        left = replace(
            self.limits,
            relaxed=form.relaxed,
            afresh=afresh,
            presolve=form.presolve,
            work=max(0.0, self.limits.work - self.used) * share * pace,
            seconds=max(0.0, self.seconds * share),
        )
        answer = schedule.solve(left, self.progress, self.cancel)
        self.used += answer.work / pace + _BUILDING * len(schedule.model.proto.variables)
        return answer

    def relax(self, model: cp_model.CpModel, worth: Sum) -> Relaxed | None:
        """Answer what a sum comes to at least; a relaxation is never cut off."""
        self.used += _RELAXING * len(model.proto.variables)
        return relax(model, worth)
