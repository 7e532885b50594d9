"""Plans: when each waiting unit is called for and by whom; and the work of a ward."""

from datetime import timedelta
from typing import Annotated

from fastapi import APIRouter, Query, Response

from server.api.answers.plan import PlanAnswer, WorkloadAnswer, plan_answer, workload_answer
from server.api.answers.problem import READING, WRITING
from server.api.bodies.plan import PlanBody
from server.api.caller import Asks
from server.api.json import json_answer
from server.api.once import Writes
from server.api.queries import PathId, WorkloadQuery
from server.api.requests import StrictRoute
from server.domain.audit import SubjectKind
from server.services.accept_plan import accept_plan, discard_plan, plan_of
from server.services.keep_plan import keep_plan
from server.services.make_plan import make_plan
from server.services.read_workload import read_workload
from server.services.shown import shows

router = APIRouter(route_class=StrictRoute, tags=["plans"])


@router.get("/workload", response_model=WorkloadAnswer, responses=READING)
@shows(SubjectKind.PLAN, ward="ward_id")
def get_workload(asks: Asks, query: Annotated[WorkloadQuery, Query()]) -> Response:
    """Minutes of work for each person on duty, slot by slot, under the plan in force."""
    with asks.read() as (session, now):
        workload = read_workload(
            session,
            asks.actor,
            query.ward_id,
            from_at=query.from_at,
            until_at=query.to_at,
            slot=timedelta(minutes=query.slot_minutes),
            now=now,
        )
    return json_answer(workload_answer(workload))


@router.post("/plans", status_code=201, response_model=PlanAnswer, responses=WRITING)
@shows(SubjectKind.PLAN)
def post_plan(body: PlanBody, asks: Asks, writes: Writes) -> Response:
    """Make a plan; it is in force only once it is accepted."""
    kept = writes.answered()
    if kept is not None:
        return kept
    plan = make_plan(asks.store, asks.actor, body.ask(), now=asks.clock())
    return writes.write(lambda session, actor, _: plan_answer(keep_plan(session, actor, plan)))


@router.get("/plans/{id}", response_model=PlanAnswer, responses=READING)
@shows(SubjectKind.PLAN, of="id")
def get_plan(asks: Asks, id: PathId) -> Response:
    """A plan as it was made."""
    with asks.read() as (session, _):
        plan = plan_of(session, asks.actor, id)
    return json_answer(plan_answer(plan))


@router.post("/plans/{id}/accept", response_model=PlanAnswer, responses=WRITING)
@shows(SubjectKind.PLAN, of="id")
def post_accept(id: PathId, writes: Writes) -> Response:
    """Put a plan in force on its ward, in place of the one that was."""
    return writes.write(
        lambda session, actor, now: plan_answer(accept_plan(session, actor, id, now=now)),
        status=200,
    )


@router.post("/plans/{id}/discard", response_model=PlanAnswer, responses=WRITING)
@shows(SubjectKind.PLAN, of="id")
def post_discard(id: PathId, writes: Writes) -> Response:
    """Have a plan wanted no more; if it is in force, the one before it is again."""
    return writes.write(
        lambda session, actor, now: plan_answer(discard_plan(session, actor, id, now=now)),
        status=200,
    )
