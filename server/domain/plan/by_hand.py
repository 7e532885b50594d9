"""A plan changed by hand: one unit put elsewhere, given to others, or taken out.

What was said by hand is done, whatever it breaks: `consequences` tells what that is, and the
charge nurse decides. Movable work is laid anew around it.
"""

from collections.abc import Mapping

from server.domain.plan.laying import draft
from server.domain.plan.problem import Problem
from server.domain.plan.proposal import Maker, Proposal, Status, Unplaced
from server.domain.plan.score import score
from server.domain.plan.way import Placing


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
    placings = kept if placing is None else {**kept, episode_id: placing}
    return proposal_of(problem, placings, before)


def proposal_of(problem: Problem, placings: Mapping[str, Placing], before: Proposal) -> Proposal:
    """Answer the plan of these places; units left out keep the reason that `before` had."""
    laid = draft(problem, placings)
    why = {one.episode_id: one for one in before.unplaced}
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
        unplaced=tuple(why.get(one, Unplaced(one, (), "left out by hand")) for one in left_out),
        laid=laid.laid,
    )
