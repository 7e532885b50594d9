"""The general form of a schedule on CP-SAT: tasks, resources, lags, and levels of worth.

The ward's plan is built through it, and so are published scheduling problems with known answers.
Times are whole numbers on a scale of the caller's. OR-Tools is imported inside this folder only.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import Final

from ortools.sat.python import cp_model

from server.domain.plan.proposal import Progress
from server.planning.search import Search
from server.planning.values import (
    Answer,
    Closed,
    Level,
    Limits,
    Stopping,
    Sum,
    Task,
    Variable,
    evaluate,
)

# Of the work that is left a level may use so much, so that later levels are looked at as well.
_SHARE: Final = 0.7


class Schedule:
    """A schedule in the making."""

    def __init__(self) -> None:
        """Begin with nothing."""
        self.model = cp_model.CpModel()
        self.levels: list[Level] = []
        self._hint: dict[int, int] = {}

    def whole(self, values: Iterable[int], name: str = "") -> Variable:
        """A whole number among some."""
        domain = cp_model.Domain.from_values(sorted(set(values)))
        return self.model.new_int_var_from_domain(domain, name)

    def between(self, least: int, most: int, name: str = "") -> Variable:
        """A whole number between two, both included."""
        return self.model.new_int_var(least, most, name)

    def choice(self, name: str = "") -> Variable:
        """A yes or no."""
        return self.model.new_bool_var(name)

    def task(self, start: Sum | int, length: int, present: Variable | None = None) -> Task:
        """Work that begins at a number or variable; with `present` it may be left out."""
        if present is None:
            interval = self.model.new_fixed_size_interval_var(start, length, "")
        else:
            interval = self.model.new_optional_fixed_size_interval_var(start, length, present, "")
        return Task(start, length, interval, present)

    def one_at_a_time(self, tasks: Iterable[Task]) -> None:
        """No two of them overlap: one person, one machine."""
        self.model.add_no_overlap([task.interval for task in tasks])

    def together(self, tasks: Sequence[Task], demands: Sequence[int], capacity: int) -> None:
        """At no instant do they need more than there is."""
        self.model.add_cumulative([task.interval for task in tasks], demands, capacity)

    def lag(self, before: Task, after: Task, lag: int) -> None:
        """From one start to another at least so long, where both are present."""
        row = self.model.add(after.start >= before.start + lag)
        given = [task.present for task in (before, after) if task.present is not None]
        if given:
            row.only_enforce_if(*given)

    @property
    def variables(self) -> Iterator[Variable]:
        """Every variable so far."""
        for index in range(len(self.model.proto.variables)):
            yield self.model.get_int_var_from_proto_index(index)

    def shut(self, variable: Variable) -> None:
        """Keep a variable at its least."""
        self.model.add(variable <= self.model.proto.variables[variable.index].domain[0])

    def copy(self) -> "Schedule":
        """The same rows and levels, to go on with in another way; hints are left behind."""
        copied = Schedule()
        copied.model, copied.levels = self.model.clone(), list(self.levels)
        return copied

    def minimise(self, level: Level) -> None:
        """Add a level after those that are there."""
        self.levels.append(level)

    def hint(self, variable: Variable, value: int) -> None:
        """Where to begin; a hint counts only if every variable has one."""
        self._hint[variable.index] = value

    def hinted(self, variable: Variable) -> int:
        """Where a variable was told to begin."""
        return self._hint[variable.index]

    def among(self, worth: Sum, values: Iterable[int]) -> None:
        """A sum comes to one of some numbers."""
        domain = cp_model.Domain.from_values(sorted(set(values)))
        self.model.add_linear_expression_in_domain(worth, domain)

    def solve(
        self,
        limits: Limits,
        progress: Callable[[Progress], None] | None = None,
        cancel: Stopping | None = None,
    ) -> Answer:
        """Search level after level, each within what the ones before it reached."""
        search = Search(self.model, limits, progress, cancel)
        found = search.confirm(self._hint)
        closed: list[Closed] = []
        is_tight = True
        for level in self.levels:
            floor = max(level.least, level.target or 0) if is_tight else level.least
            share = 1.0 if level is self.levels[-1] else _SHARE
            begin = {} if limits.afresh else self._hint
            closed.append(search.run(level, floor, found, found or begin, share))
            found = search.found or found
            if search.is_infeasible or not found:
                break
            is_tight = is_tight and closed[-1].worth == level.target
            # What was reached stays reached while the next level is searched.
            self.model.add(level.worth <= evaluate(level.worth, found))
        unreached = [Closed(one.name, None, None) for one in self.levels[len(closed) :]]
        levels = (*closed, *unreached)
        return Answer(found, levels, search.is_infeasible, search.seconds, search.work)
