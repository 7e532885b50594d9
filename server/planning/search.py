"""One search over all levels on CP-SAT: what it has found and what it has used up."""

import math
import threading
from collections.abc import Callable, Mapping
from time import monotonic
from typing import Final

from ortools.sat.python import cp_model

from server.domain.plan.proposal import Progress
from server.planning.values import Closed, Level, Limits, Stopping, evaluate

# Enough to look at a solution of any ward; a search may be given less.
_CONFIRMING: Final = 10.0
_LOOK: Final = 0.05
_ROUNDING: Final = 1e-6
_FOUND: Final = frozenset({cp_model.OPTIMAL, cp_model.FEASIBLE})


class Search:
    """One search over all levels: what it has found and what it has used up."""

    def __init__(
        self,
        model: cp_model.CpModel,
        limits: Limits,
        progress: Callable[[Progress], None] | None,
        cancel: Stopping | None,
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
        solver = self._solver(_CONFIRMING)
        solver.parameters.fix_variables_to_their_hinted_value = True
        solver.parameters.cp_model_presolve = False
        self._model.clear_objective()  # type: ignore[no-untyped-call]
        self._suggest(hint)
        # Everything is fixed: this takes no search, and nobody needs to be able to stop it.
        return dict(hint) if solver.solve(self._model) in _FOUND else {}

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
        self._model.clear_objective()  # type: ignore[no-untyped-call]
        self.is_infeasible = status == cp_model.INFEASIBLE
        if status not in _FOUND:
            return Closed(level.name, at_hand, floor)
        self.found = dict(enumerate(solver.response_proto.solution))
        bound = max(floor, math.ceil(solver.best_objective_bound - _ROUNDING))
        worth = evaluate(level.worth, self.found)
        return Closed(level.name, worth, min(bound, worth))

    def _suggest(self, hint: Mapping[int, int]) -> None:
        self._model.clear_hints()  # type: ignore[no-untyped-call]
        hinted = self._model.proto.solution_hint
        hinted.vars.extend(hint.keys())
        hinted.values.extend(hint.values())

    def _solver(self, work: float) -> cp_model.CpSolver:
        solver, limits = cp_model.CpSolver(), self._limits
        solver.parameters.num_workers = limits.workers
        solver.parameters.interleave_search = limits.workers > 1
        solver.parameters.random_seed = limits.seed
        solver.parameters.max_deterministic_time = work
        solver.parameters.max_time_in_seconds = max(0.01, limits.seconds - self.seconds)
        solver.parameters.cp_model_presolve = limits.presolve
        solver.parameters.linearization_level = limits.relaxed
        if limits.afresh:
            # Of its ways this one, with nothing told to begin at, was the soonest at some plan.
            solver.parameters.search_branching = solver.parameters.HINT_SEARCH
        return solver

    def _solve(
        self, solver: cp_model.CpSolver, level: Level, floor: int
    ) -> cp_model.CpSolverStatus:
        told = _Told(self, level, floor, self._progress)
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
        """Stop a search that somebody cancels, again and again: one not yet begun does not hear."""
        while not over.wait(_LOOK):
            if self._cancel.is_set():
                solver.stop_search()


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
