"""A plan changed by hand: one unit put elsewhere, given to others, or taken out.

What was said by hand is done, whatever it breaks: `consequences` tells what that is, and the
charge nurse decides. Movable work is laid anew around it.
"""

from collections.abc import Mapping
from typing import Final

from server.domain.plan.laying import draft
from server.domain.plan.problem import Problem
from server.domain.plan.proposal import Maker, Proposal, Status, Unplaced
from server.domain.plan.score import score
from server.domain.plan.way import Placing

BY_HAND: Final = "left out by hand"
NEVER_PLANNED: Final = "no start was planned for it"


def placings_of(problem: Problem, proposal: Proposal) -> dict[str, Placing]:
    """Answer where a plan puts the units that are still to be planned, by episode id."""
    asked = {unit.episode_id for unit in problem.units}
    return {
        start.episode_id: Placing(start.check_at, start.nurse_id, start.second_id)
        for start in proposal.starts
        if start.episode_id in asked
    }


def put_by_hand(
    problem: Problem, before: Proposal, episode_id: str, placing: Placing | None
) -> Proposal:
    """Answer the plan with one unit put at a place, None: taken out; the others stay."""
    kept = placings_of(problem, before)
    kept.pop(episode_id, None)
    if placing is not None:
        return proposal_of(problem, {**kept, episode_id: placing}, before)
    return proposal_of(problem, kept, before, taken_out=episode_id)


def proposal_of(
    problem: Problem,
    placings: Mapping[str, Placing],
    before: Proposal,
    *,
    taken_out: str | None = None,
) -> Proposal:
    """Answer the plan of these places; units left out keep the reason that `before` had.

    `taken_out` is the unit that was left out by hand; others that `before` knew nothing of say so.
    """
    laid = draft(problem, placings)
    why = {one.episode_id: one for one in before.unplaced}
    if taken_out is not None:
        why.setdefault(taken_out, Unplaced(taken_out, (), BY_HAND))
    left_out = [unit.episode_id for unit in problem.units if unit.episode_id not in placings]
    return Proposal(
        ward_id=problem.ward_id,
        from_at=problem.from_at,
        until_at=problem.until_at,
        made_by=Maker.HAND,
        status=Status.FEASIBLE,
        objective=score(problem, laid.starts, laid.laid),
        bound=None,
        gap_percent=None,
        seconds=0.0,
        starts=laid.starts,
        unplaced=tuple(why.get(one, Unplaced(one, (), NEVER_PLANNED)) for one in left_out),
        laid=laid.laid,
    )
