"""The general form of a schedule on CP-SAT: tasks, resources, lags, levels, and how long to search.

The ward's plan is built through it, and so are published scheduling problems with known answers.
Times are whole numbers on a scale of the caller's. OR-Tools is imported inside this folder only.
"""

import math
import threading
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from time import monotonic
from typing import Final

from ortools.sat.python import cp_model

Variable = cp_model.IntVar
Sum = cp_model.LinearExprT

# Of the work that is left a level may use so much, so that later levels are looked at as well.
_SHARE: Final = 0.7
_LOOK: Final = 0.05
_ROUNDING: Final = 1e-6
_FOUND: Final = frozenset({cp_model.OPTIMAL, cp_model.FEASIBLE})


@dataclass(frozen=True, slots=True)
class Task:
    """Work of a fixed length; `present` None: it is always done."""

    start: Sum
    length: int
    interval: cp_model.IntervalVar
    present: Variable | None = None


@dataclass(frozen=True, slots=True)
class Level:
    """What is made small, once all levels before it are as small as can be.

    A solution that reaches a bound known beforehand is not searched on. `least` always holds;
    `target` holds as long as every level before reached its own.
    """

    name: str
    worth: Sum
    least: int = 0
    target: int | None = None


@dataclass(frozen=True, slots=True)
class Limits:
    """How long to search. `work` counts in the solver's own steps, about a second each.

    One worker that stops by `work` gives the same answer each time; `seconds` by the clock on the
    wall is a guard for a machine that is busy with other things.
    """

    work: float
    seconds: float
    workers: int = 1
    seed: int = 0
    presolve: bool = True


@dataclass(frozen=True, slots=True)
class Progress:
    """A better solution: its worth and the best bound, on the level that is searched."""

    level: str
    worth: int
    bound: int
    seconds: float


@dataclass(frozen=True, slots=True)
class Closed:
    """How far a level came; `bound` None: it was not reached. It is closed where they agree."""

    name: str
    worth: int | None
    bound: int | None

    @property
    def is_closed(self) -> bool:
        """Whether nothing better exists, given the levels before."""
        return self.worth is not None and self.worth == self.bound


@dataclass(frozen=True, slots=True)
class Answer:
    """What was found. `values` by variable index; empty where there is no solution at all."""

    values: Mapping[int, int]
    levels: tuple[Closed, ...]
    is_infeasible: bool
    seconds: float
    work: float

    @property
    def is_optimal(self) -> bool:
        """Whether every level is closed."""
        return bool(self.values) and all(level.is_closed for level in self.levels)

    def __getitem__(self, variable: Variable) -> int:
        """The value of a variable."""
        return self.values[variable.index]


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

    def task(self, start: Sum, length: int, present: Variable | None = None) -> Task:
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
        cancel: threading.Event | None = None,
    ) -> Answer:
        """Search level after level, each within what the ones before it reached."""
        search = Search(self.model, limits, progress, cancel)
        found = search.confirm(self._hint)
        closed: list[Closed] = []
        is_tight = True
        for level in self.levels:
            floor = max(level.least, level.target or 0) if is_tight else level.least
            share = 1.0 if level is self.levels[-1] else _SHARE
            closed.append(search.run(level, floor, found, found or self._hint, share))
            found = search.found or found
            if search.is_infeasible or not found:
                break
            is_tight = is_tight and closed[-1].worth == level.target
            # What was reached stays reached while the next level is searched.
            self.model.add(level.worth <= evaluate(level.worth, found))
        unreached = [Closed(one.name, None, None) for one in self.levels[len(closed) :]]
        levels = (*closed, *unreached)
        return Answer(found, levels, search.is_infeasible, search.seconds, search.work)


def evaluate(worth: Sum, values: Mapping[int, int]) -> int:
    """Answer what a sum of variables comes to."""
    if isinstance(worth, int):
        return worth
    flat = cp_model.FlatIntExpr(worth)
    terms = zip(flat.vars, flat.coeffs, strict=True)
    return int(flat.offset) + sum(values[one.index] * int(factor) for one, factor in terms)


class Search:
    """One search over all levels: what it has found and what it has used up."""

    def __init__(
        self,
        model: cp_model.CpModel,
        limits: Limits,
        progress: Callable[[Progress], None] | None,
        cancel: threading.Event | None,
    ) -> None:
        """Begin to count."""
        self._model, self._limits, self._progress = model, limits, progress
        self._cancel = cancel or threading.Event()
        self._begun = monotonic()
        self.work = 0.0
        self.found: dict[int, int] = {}
        self.is_infeasible = False

    @property
    def seconds(self) -> float:
        """How long it has searched."""
        return monotonic() - self._begun

    def confirm(self, hint: Mapping[int, int]) -> dict[int, int]:
        """Answer the hint where it is a whole solution, and nothing where it is not."""
        if len(hint) < len(self._model.proto.variables):
            return {}
        solver = self._solver(self._limits.work)
        solver.parameters.fix_variables_to_their_hinted_value = True
        solver.parameters.cp_model_presolve = False
        self._model.clear_objective()
        self._suggest(hint)
        status = self._solve(solver, None, 0)
        return dict(hint) if status in _FOUND else {}

    def run(
        self,
        level: Level,
        floor: int,
        found: Mapping[int, int],
        hint: Mapping[int, int],
        share: float,
    ) -> Closed:
        """Search one level from what was found; at its floor there is nothing left to do."""
        at_hand = evaluate(level.worth, found) if found else None
        if at_hand is not None and at_hand <= floor:
            return Closed(level.name, at_hand, at_hand)
        left = self._limits.work - self.work
        if left <= 0 or self._cancel.is_set() or self.seconds >= self._limits.seconds:
            return Closed(level.name, at_hand, floor)
        solver = self._solver(left * share)
        self._suggest(hint)
        self._model.minimize(level.worth)
        status = self._solve(solver, level, floor)
        self._model.clear_objective()
        self.is_infeasible = status == cp_model.INFEASIBLE
        if status not in _FOUND:
            return Closed(level.name, at_hand, floor)
        self.found = dict(enumerate(solver.response_proto.solution))
        bound = max(floor, math.ceil(solver.best_objective_bound - _ROUNDING))
        worth = evaluate(level.worth, self.found)
        return Closed(level.name, worth, min(bound, worth))

    def _suggest(self, hint: Mapping[int, int]) -> None:
        self._model.clear_hints()
        for index, value in hint.items():
            self._model.add_hint(self._model.get_int_var_from_proto_index(index), value)

    def _solver(self, work: float) -> cp_model.CpSolver:
        solver, limits = cp_model.CpSolver(), self._limits
        solver.parameters.num_workers = limits.workers
        solver.parameters.interleave_search = limits.workers > 1
        solver.parameters.random_seed = limits.seed
        solver.parameters.max_deterministic_time = work
        solver.parameters.max_time_in_seconds = max(0.01, limits.seconds - self.seconds)
        solver.parameters.cp_model_presolve = limits.presolve
        return solver

    def _solve(
        self, solver: cp_model.CpSolver, level: Level | None, floor: int
    ) -> cp_model.CpSolverStatus:
        told = None if level is None else _Told(self, level, floor, self._progress)
        over = threading.Event()
        watch = threading.Thread(target=self._watch, args=(solver, over), daemon=True)
        watch.start()
        try:
            return solver.solve(self._model, told)
        finally:
            over.set()
            watch.join()
            self.work += solver.deterministic_time

    def _watch(self, solver: cp_model.CpSolver, over: threading.Event) -> None:
        """Stop a search that somebody cancels."""
        while not over.wait(_LOOK):
            if self._cancel.is_set():
                solver.stop_search()
                return


class _Told(cp_model.CpSolverSolutionCallback):
    """Tells of each better solution, and stops at one that cannot be bettered."""

    def __init__(
        self, search: Search, level: Level, floor: int, progress: Callable[[Progress], None] | None
    ) -> None:
        super().__init__()
        self._search, self._level, self._floor = search, level, floor
        self._progress = progress

    def on_solution_callback(self) -> None:
        """Called by the solver."""
        worth = round(self.objective_value)
        if self._progress is not None:
            bound = max(self._floor, math.ceil(self.best_objective_bound - _ROUNDING))
            self._progress(Progress(self._level.name, worth, bound, self._search.seconds))
        if worth <= self._floor:
            self.stop_search()
