"""Take over what a supposed plan would do, as a proposal for the ward as it is recorded."""

from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime
from typing import Final

from server.domain.plan.by_hand import placings_of, proposal_of
from server.domain.plan.plan import NOTHING_SUPPOSED, Plan
from server.domain.plan.way import Placing
from server.services.accept_plan import plan_of
from server.services.actor import Actor
from server.services.change_plan import ground_of
from server.services.errors import Conflict
from server.services.keep_plan import keep_plan, with_spare
from server.services.permissions import Act
from server.services.planning_ground import Ground
from server.store.ids import new_id
from server.store.sessions import WriteSession

WHAT: Final = "Taken over from a supposed plan"


def take_over_plan(session: WriteSession, actor: Actor, plan_id: str, *, now: datetime) -> Plan:
    """Answer a version with the starts of a supposed plan, judged by the ward as it is.

    Units that were only supposed fall away; those that were supposed to be gone stay as the plan in
    force has them. Raises `NotFound`, `Forbidden`, `Conflict` for a plan that supposes nothing or
    was discarded.
    """
    before = plan_of(session, actor, plan_id, Act.PLAN_UNITS)
    if before.discarded_at is not None:
        raise Conflict("this plan was discarded")
    if before.supposed.is_empty:
        raise Conflict("this plan supposes nothing; it can be accepted as it is")
    ground = ground_of(session, actor, replace(before, supposed=NOTHING_SUPPOSED), now=now)
    proposal = proposal_of(ground.problem, _placings(ground, before), before.proposal)
    after = Plan(
        id=new_id(),
        ward_id=before.ward_id,
        made_at=now,
        made_by=actor.id,
        what=WHAT,
        proposal=with_spare(ground, proposal),
        parent_id=before.id,
        wishes=before.wishes,
    )
    return keep_plan(session, actor, after)


def _placings(ground: Ground, before: Plan) -> Mapping[str, Placing]:
    """What the supposed plan has no start for has none; what it knew nothing of stays."""
    kept = ground.in_force
    stays = {} if kept is None else placings_of(ground.problem, kept.proposal)
    for one in before.proposal.unplaced:
        stays.pop(one.episode_id, None)
    return stays | placings_of(ground.problem, before.proposal)
