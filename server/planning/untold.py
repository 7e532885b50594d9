"""Which work a plan has no room for, and what else could lie in its place: to be told next."""

from collections.abc import Iterator

from server.domain.plan.laying import Draft, Key
from server.domain.plan.problem import Problem
from server.domain.plan.way import follow_ups
from server.domain.workload.period import Period
from server.planning.model import laid_in


def untold(problem: Problem, plan: Draft) -> set[Key]:
    """Answer the pieces that a plan misses, with all of the same person that they could meet."""
    laid, found = laid_in(plan), set[Key]()
    pieces = list(_pieces(problem, plan))
    for key, who, window in pieces:
        if key not in laid:
            found |= {one for one, of, at in pieces if of == who and at.overlaps(window)}
    return found


def _pieces(problem: Problem, plan: Draft) -> Iterator[tuple[Key, str, Period]]:
    """What follows the starts of a plan: by whom, and from when until when it could be done."""
    units = {unit.episode_id: unit for unit in problem.units}
    for start in plan.starts:
        for one in follow_ups(units[start.episode_id], problem.terms):
            first, last = min(one.offsets), max(one.offsets) + one.length
            window = Period(start.check_at + first, start.check_at + last)
            yield (start.episode_id, one.work, one.n), start.nurse_id, window
