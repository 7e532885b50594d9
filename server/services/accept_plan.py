"""Put a plan in force, or have it wanted no more."""

from dataclasses import replace
from datetime import datetime

from server.domain.plan.plan import Plan
from server.services.actor import Actor
from server.services.errors import Conflict, NotFound
from server.services.permissions import Act, require
from server.store.plans import mark_accepted, mark_discarded, plan_in_force, read_plan
from server.store.requests import read_requests
from server.store.sessions import ReadSession, WriteSession
from server.store.wards import set_plan


def accept_plan(session: WriteSession, actor: Actor, plan_id: str, *, now: datetime) -> Plan:
    """Put a plan in force on its ward, in place of the one that was. Again: as it is.

    Nothing starts by itself: a plan says what is meant to be done. Raises `NotFound`, `Forbidden`,
    `Conflict` for one that was discarded or supposes what was never recorded.
    """
    plan = plan_of(session, actor, plan_id, Act.PLAN_UNITS)
    before = plan_in_force(session, plan.ward_id, now)
    if before is not None and before.id == plan.id:
        return before
    if plan.discarded_at is not None:
        raise Conflict("this plan was discarded")
    if not plan.supposed.is_empty:
        raise Conflict("this plan supposes what was never recorded; it cannot be put in force")
    mark_accepted(session, plan, at=now, by=actor.id)
    _show(session, plan.ward_id, before, plan)
    return replace(plan, accepted_at=now, accepted_by=actor.id)


def discard_plan(session: WriteSession, actor: Actor, plan_id: str, *, now: datetime) -> Plan:
    """Have a plan wanted no more; where it is in force, the accepted one before it is again.

    Raises `NotFound`, `Forbidden`.
    """
    plan = plan_of(session, actor, plan_id, Act.PLAN_UNITS)
    if plan.discarded_at is not None:
        return plan
    before = plan_in_force(session, plan.ward_id, now)
    mark_discarded(session, plan.id, at=now)
    if before is not None and before.id == plan.id:
        _show(session, plan.ward_id, before, plan_in_force(session, plan.ward_id, now))
    return replace(plan, discarded_at=now)


def plan_of(session: ReadSession, actor: Actor, plan_id: str, act: Act = Act.READ) -> Plan:
    """Answer a plan that the actor may see, or do `act` with. Raises `NotFound`, `Forbidden`."""
    plan = read_plan(session, plan_id)
    if plan is None:
        raise NotFound("the plan")
    require(actor, act, plan.ward_id)
    return plan


def _show(session: WriteSession, ward_id: str, before: Plan | None, after: Plan | None) -> None:
    """Have the rows of all units of either plan say what is planned now."""
    set_plan(session, ward_id, None if after is None else after.id)
    plans = [plan for plan in (before, after) if plan is not None]
    planned = {start.episode_id for plan in plans for start in plan.proposal.starts}
    session.touch(ward_id, read_requests(session, planned))
