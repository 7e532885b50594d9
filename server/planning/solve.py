"""One call from a problem to a proposal, with or without OR-Tools."""

from collections.abc import Callable
from dataclasses import astuple
from importlib.util import find_spec
from threading import Event
from time import monotonic
from typing import Final

from server.domain.plan.laying import Draft
from server.domain.plan.list_rule import list_rule
from server.domain.plan.problem import Problem
from server.domain.plan.proposal import Maker, Objective, Progress, Proposal, Status
from server.domain.plan.score import score
from server.planning.explain import why_unplaced

# The solver's own steps in a second on a model of intervals of up to `USUAL` units, of larger wards
# in proportion fewer: on a machine of two processors with nothing else to do the clock on the wall
# ends none, and the same problem gives the same plan. With one the second search has to wait for
# the first, and more searches are ended by it.
STEPS: Final = 0.18
USUAL: Final = 20
GUARD: Final = 1.2

Tell = Callable[[Progress], None]


def available() -> bool:
    """Whether OR-Tools is installed; without it `propose` answers what the list rule finds."""
    return find_spec("ortools") is not None


def propose(
    problem: Problem,
    seconds: float,
    seed: int = 0,
    progress: Tell | None = None,
    cancel: Event | None = None,
) -> Proposal:
    """Answer the best plan found in about so many seconds, never worse than the list rule's.

    The same problem, seconds and seed give the same plan unless the machine is so busy that the
    clock on the wall ends the search; it may be another with one processor than with more.
    `progress` is told of better plans from another thread; setting `cancel` ends the search with
    the best so far.
    """
    begun = monotonic()
    if not available() or not problem.units:
        return listed(problem, begun)
    # Importing the solver takes a moment and a lot of memory: only who plans pays for it.
    from server.planning.staged import Stages  # noqa: PLC0415
    from server.planning.values import Limits  # noqa: PLC0415

    limits = Limits(seconds * STEPS, seconds * GUARD, seed=seed, presolve=False)
    stages = Stages(problem, limits, progress, cancel)
    stages.run()
    return proposal(problem, stages.plan, Maker.SOLVER, stages.bounds, monotonic() - begun)


def pace(problem: Problem) -> float:
    """Answer how many steps a model of intervals makes while one of a usual ward makes one."""
    return USUAL / max(USUAL, len(problem.units))


def steps(problem: Problem, seconds: float) -> float:
    """Answer how many steps a model of intervals makes in about so many seconds."""
    return seconds * STEPS * pace(problem)


def listed(problem: Problem, begun: float) -> Proposal:
    """Answer what the list rule finds."""
    plan = list_rule(problem)
    return proposal(problem, plan, Maker.LIST_RULE, None, monotonic() - begun)


def proposal(
    problem: Problem,
    plan: Draft,
    made_by: Maker,
    bounds: tuple[int, ...] | None,
    seconds: float,
) -> Proposal:
    """Put a plan into a proposal, with why units found no place."""
    worth = score(problem, plan.starts, plan.laid)
    bound = None if bounds is None else reached(worth, bounds)
    return Proposal(
        ward_id=problem.ward_id,
        from_at=problem.from_at,
        until_at=problem.until_at,
        made_by=made_by,
        status=_status(problem, plan, worth, bound),
        objective=worth,
        bound=bound,
        gap_percent=None if bound is None else gap_percent(worth, bound),
        seconds=round(seconds, 3),
        starts=plan.starts,
        unplaced=why_unplaced(problem, plan),
        laid=plan.laid,
    )


def reached(worth: Objective, bounds: tuple[int, ...]) -> Objective:
    """Answer the bound of a plan: a level counts only while those before came to theirs."""
    levels: list[int] = []
    is_tight = True
    for value, bound in zip(astuple(worth), bounds, strict=True):
        levels.append(min(value, bound) if is_tight else 0)
        is_tight = is_tight and value <= bound
    return Objective(*levels)


def gap_percent(worth: Objective, bound: Objective) -> float:
    """Answer the distance to the bound, in per cent of the worth, on the level not closed."""
    pairs = zip(astuple(worth), astuple(bound), strict=True)
    return next((round(100 * (one - other) / one, 1) for one, other in pairs if one > other), 0.0)


def _status(problem: Problem, plan: Draft, worth: Objective, bound: Objective | None) -> Status:
    if not problem.units or worth == bound:
        return Status.OPTIMAL
    return Status.FEASIBLE if plan.starts else Status.NONE
