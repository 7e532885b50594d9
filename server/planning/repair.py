"""Repair of a plan that no longer holds: quick first, then searched with changes made dear."""

from dataclasses import replace
from threading import Event
from time import monotonic
from typing import Final

from server.domain.plan.laying import Draft
from server.domain.plan.problem import Problem
from server.domain.plan.proposal import Maker, Objective, Proposal, Status
from server.domain.plan.repair import repaired
from server.domain.plan.score import score
from server.planning.solve import GUARD, available, proposal, steps

# What moving one start or giving it to others costs, in minutes of lateness or of unfilled work.
CHANGE: Final = 40


def repair(
    problem: Problem, seconds: float, seed: int = 0, cancel: Event | None = None
) -> Proposal:
    """Answer how the plan in force is mended: the quick repair, or a search that mends it better.

    What is under way is no unit of the problem any more, so that it stays as it is. Moving a start
    costs as much as `CHANGE` minutes; of two plans that place every unit the search never changes
    more starts than the quick repair does.
    """
    begun = monotonic()
    quick = repaired(problem)
    best, made_by = quick, Maker.LIST_RULE
    if available() and problem.units and seconds > 0:
        searched = _searched(problem, quick, seconds, seed, cancel)
        if dearness(problem, searched) < dearness(problem, quick):
            best, made_by = searched, Maker.SOLVER
    mended = proposal(problem, best, made_by, None, monotonic() - begun)
    return mended if mended.status is Status.NONE else replace(mended, status=Status.FEASIBLE)


def quick_repair(problem: Problem) -> Proposal:
    """Answer the quick repair alone, in milliseconds."""
    return repair(problem, seconds=0)


def dearness(problem: Problem, plan: Draft) -> tuple[int, int, int, int]:
    """Answer what a repair is judged by: units left out, minutes with changes, changes, comfort."""
    worth: Objective = score(problem, plan.starts, plan.laid)
    minutes = worth.urgent_late + worth.overload + CHANGE * worth.changes
    return (worth.unplaced, minutes, worth.changes, worth.comfort)


def _searched(
    problem: Problem, quick: Draft, seconds: float, seed: int, cancel: Event | None
) -> Draft:
    # Importing the solver takes a moment and a lot of memory: only who searches pays for it.
    from server.planning.staged import mend  # noqa: PLC0415
    from server.planning.values import Limits  # noqa: PLC0415

    limits = Limits(steps(problem, seconds), seconds * GUARD, seed=seed, presolve=False)
    return mend(problem, quick, CHANGE, limits, cancel)
