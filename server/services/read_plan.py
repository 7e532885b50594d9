"""A plan as it is looked at: on the ward as it is now, with what it breaks and what it brings."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from server.domain.plan.by_hand import placings_of, proposal_of
from server.domain.plan.compare import Difference, differences
from server.domain.plan.consequences import consequences
from server.domain.plan.finding import Finding
from server.domain.plan.plan import Plan
from server.domain.plan.proposal import Objective, Rule, Start
from server.domain.workload.period import Period
from server.services.accept_plan import plan_of as read_plan_of
from server.services.actor import SYSTEM, Actor
from server.services.change_plan import ground_of
from server.services.errors import NotFound
from server.services.planning_ground import Asked, Ground, read_ground
from server.services.read_workload import Workload, workload_of
from server.store.plans import (
    PlanWatch,
    accepted_plans,
    read_plans,
    read_watches,
    undecided_plans,
)
from server.store.sessions import ReadSession

UNDECIDED_FOR: Final = timedelta(hours=12)
MOST_UNDECIDED: Final = 5


@dataclass(frozen=True, slots=True)
class PlanLook:
    """A ward's plan, looked at now. `plan` None: there is none yet, and none was named.

    `findings` is what its starts break on the ward as it is; `differences` are those from the plan
    in force, `worth_in_force` what that one is worth now. `mends` is the plan that would repair it,
    None where it holds or nothing was found. `earlier` are the accepted versions, `undecided`
    those of the last hours that nobody accepted or discarded; the latest first.
    """

    ground: Ground
    plan: Plan | None
    workload: Workload
    findings: tuple[Finding, ...]
    differences: tuple[Difference, ...]
    worth_in_force: Objective | None
    watch: PlanWatch | None
    mends: Plan | None
    parent: Plan | None
    earlier: tuple[Plan, ...]
    undecided: tuple[Plan, ...]


def look_at_plan(
    session: ReadSession,
    actor: Actor,
    ward_id: str,
    plan_id: str | None,
    *,
    now: datetime,
    at: datetime | None = None,
) -> PlanLook:
    """Answer a version of a ward's plan, by default the one in force; `at` another instant.

    Raises `NotFound`, `Forbidden`.
    """
    plan = None if plan_id is None else read_plan_of(session, actor, plan_id)
    if plan is not None and plan.ward_id != ward_id:
        raise NotFound("the plan")
    if plan is None:
        ground = read_ground(session, actor, ward_id, Asked(), now=now, at=at)
        plan = ground.in_force
    else:
        ground = ground_of(session, actor, plan, now=now)
    watch = read_watches(session, [ward_id]).get(ward_id)
    kin = [plan.parent_id if plan else None, watch.repair_id if watch else None]
    found = read_plans(session, [one for one in kin if one is not None])
    starts = () if plan is None else plan.proposal.starts
    in_force = ground.in_force
    return PlanLook(
        ground=ground,
        plan=plan,
        workload=workload_of(ground, starts, _shown(ground)),
        findings=_findings(ground, starts),
        differences=_differences(in_force, plan),
        worth_in_force=None if in_force is None else _worth(ground, in_force),
        watch=watch if in_force is not None and watch and watch.plan_id == in_force.id else None,
        mends=found.get(kin[1] or ""),
        parent=found.get(kin[0] or ""),
        earlier=accepted_plans(session, ward_id, limit=10),
        undecided=_undecided(session, ground),
    )


def _undecided(session: ReadSession, ground: Ground) -> tuple[Plan, ...]:
    """What people asked for or put together; what mends a plan is shown with what is wrong."""
    listed = undecided_plans(session, ground.ward.id, ground.now - UNDECIDED_FOR, limit=20)
    return tuple(plan for plan in listed if plan.made_by != SYSTEM.id)[:MOST_UNDECIDED]


def _findings(ground: Ground, starts: Iterable[Start]) -> tuple[Finding, ...]:
    """What starts break; that the instant of one has just come is no fault of the plan."""
    problem = ground.problem
    ready = {unit.episode_id for unit in problem.units if unit.ready_at <= ground.now}
    return tuple(
        one
        for one in consequences(problem, tuple(starts))
        if one.rule is not Rule.HORIZON
        and not (one.rule is Rule.READY and ready.issuperset(one.episode_ids))
    )


def _shown(ground: Ground) -> Period:
    """From the present quarter of an hour to the end of the plan."""
    begin = ground.now.replace(minute=ground.now.minute // 15 * 15, second=0)
    return Period(begin, max(ground.problem.until_at, ground.problem.from_at))


def _differences(in_force: Plan | None, plan: Plan | None) -> tuple[Difference, ...]:
    if plan is None or in_force is None or plan.id == in_force.id:
        return ()
    return differences(in_force.proposal, plan.proposal)


def _worth(ground: Ground, plan: Plan) -> Objective:
    """What a plan is worth on the ward as it is now."""
    placings = placings_of(ground.problem, plan.proposal)
    return proposal_of(ground.problem, placings, plan.proposal).objective
