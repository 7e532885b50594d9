"""Keep a plan, with what each of its starts leaves of the finish limit."""

from dataclasses import replace

from server.domain.plan.plan import Plan
from server.domain.plan.proposal import Proposal
from server.domain.plan.watch import spare_of
from server.services.actor import Actor
from server.services.permissions import Act, require
from server.services.planning_ground import Ground
from server.store.plans import add_plan
from server.store.sessions import WriteSession


def keep_plan(session: WriteSession, actor: Actor, plan: Plan) -> Plan:
    """Keep a plan that was made. Raises `Forbidden`."""
    require(actor, Act.PLAN_UNITS, plan.ward_id)
    add_plan(session, plan)
    return plan


def with_spare(ground: Ground, proposal: Proposal) -> Proposal:
    """Answer a proposal whose starts say what they leave of the finish limit."""
    units = {unit.episode_id: unit for unit in ground.problem.units}
    starts = (
        replace(start, spare_minutes=spare_of(start, units[start.episode_id], ground.terms))
        for start in proposal.starts
    )
    return replace(proposal, starts=tuple(starts))
