"""Small plans for tests that only need one to be there."""

from datetime import datetime, timedelta

from server.domain.plan.plan import Plan
from server.domain.plan.proposal import Maker, Objective, Proposal, Start, Status


def an_empty_plan(plan_id: str, ward_id: str, made_at: datetime, *starts: Start) -> Plan:
    """A plan of eight hours with these starts, made by the list rule."""
    proposal = Proposal(
        ward_id=ward_id,
        from_at=made_at,
        until_at=made_at + timedelta(hours=8),
        made_by=Maker.LIST_RULE,
        status=Status.FEASIBLE,
        objective=Objective(0, 0, 0, 0, 0),
        bound=None,
        gap_percent=None,
        seconds=0.0,
        starts=starts,
        unplaced=(),
    )
    return Plan(plan_id, ward_id, made_at, "somebody", "Asked for a proposal", proposal)
