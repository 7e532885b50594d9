"""Wards, and the policies they can run under."""

from typing import Annotated

from fastapi import APIRouter, Depends, Request, Response

from server.api.answers.problem import READING, WRITING
from server.api.answers.setup import (
    PolicyAnswer,
    PolicyName,
    WardAnswer,
    policy_answer,
    policy_name,
    ward_answer,
)
from server.api.bodies.setup import WardBody
from server.api.caller import Asks
from server.api.json import json_answer
from server.api.once import Writes
from server.api.queries import PathId
from server.api.requests import StrictRoute
from server.domain.policy import Policy
from server.services.enter_ward import enter_ward, list_wards
from server.services.errors import NotFound
from server.services.list_ward_policies import list_ward_policies
from server.services.shown import shows_no_patient

router = APIRouter(route_class=StrictRoute, tags=["set-up"])


def policies_of(request: Request) -> dict[str, Policy]:
    """The policies that wards can run under, by name."""
    policies: dict[str, Policy] = request.app.state.policies
    return policies


Policies = Annotated[dict[str, Policy], Depends(policies_of)]


@router.post("/wards", status_code=201, response_model=WardAnswer, responses=WRITING)
def post_ward(body: WardBody, writes: Writes, policies: Policies) -> Response:
    """Enter a ward, or change the one of that id."""
    return writes.write(
        lambda session, actor, now: ward_answer(
            enter_ward(session, actor, body.draft(), policies, now=now), body.policy
        )
    )


@router.get("/wards", response_model=list[WardAnswer], responses=READING)
@shows_no_patient
def get_wards(asks: Asks) -> Response:
    """The caller's wards, by name."""
    with asks.read() as (session, now):
        wards = list_wards(session, asks.actor)
        policies = list_ward_policies(session, wards, now=now)
    return json_answer([ward_answer(ward, policies[ward.id]) for ward in wards])


@router.get("/policies", response_model=list[PolicyName], responses=READING)
@shows_no_patient
def get_policies(_: Asks, policies: Policies) -> Response:
    """The policies a ward can run under."""
    return json_answer([policy_name(policy) for policy in policies.values()])


@router.get("/policies/{id}", response_model=PolicyAnswer, responses=READING)
@shows_no_patient
def get_policy(id: PathId, _: Asks, policies: Policies) -> Response:
    """A policy: every value with its unit and its source."""
    if id not in policies:
        raise NotFound("the policy")
    return json_answer(policy_answer(policies[id]))
