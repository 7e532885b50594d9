"""A plan as it is kept: a proposal with what was wished and supposed, and whether it is in force.

Plans never change. What is done by hand, asked again or supposed makes a plan whose parent is the
one before; going back to the parent is the undo.
"""

from dataclasses import dataclass
from datetime import datetime
from typing import Final

from server.domain.plan.planned import Planned
from server.domain.plan.problem import Earlier
from server.domain.plan.proposal import Proposal, Start
from server.domain.plan.suppose import Suppositions
from server.domain.plan.wishes import Wish

NOTHING_SUPPOSED: Final = Suppositions()


@dataclass(frozen=True, slots=True)
class Plan:
    """One version of a ward's plan. `made_by` and `accepted_by` are ids of actors.

    `what` says in words what made it of its parent. Of the accepted ones the latest is in force.
    `repairs` is the accepted plan that no longer held and that this one mends.
    """

    id: str
    ward_id: str
    made_at: datetime
    made_by: str
    what: str
    proposal: Proposal
    parent_id: str | None = None
    repairs: str | None = None
    wishes: tuple[Wish, ...] = ()
    supposed: Suppositions = NOTHING_SUPPOSED
    accepted_at: datetime | None = None
    accepted_by: str | None = None
    discarded_at: datetime | None = None

    def start_of(self, episode_id: str) -> Start | None:
        """The start of a unit, None where it has none."""
        starts = self.proposal.starts
        return next((one for one in starts if one.episode_id == episode_id), None)

    def planned_of(self, episode_id: str) -> Planned | None:
        """What the ward shows of a unit's start, None where it has none."""
        start = self.start_of(episode_id)
        if start is None:
            return None
        spare = start.spare_minutes
        return Planned(start.call_at, start.start_at, start.nurse_id, start.second_id, spare)


def earlier_of(plan: Plan | None) -> dict[str, Earlier]:
    """Answer where an accepted plan had put each unit, by episode id; empty without a plan."""
    if plan is None:
        return {}
    return {
        start.episode_id: Earlier(start.check_at, start.nurse_id, start.second_id)
        for start in plan.proposal.starts
    }
