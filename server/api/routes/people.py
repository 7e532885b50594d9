"""Staff and shifts."""

from typing import Annotated

from fastapi import APIRouter, Query, Request, Response

from server.api.answers.problem import READING, WRITING
from server.api.answers.setup import ShiftAnswer, StaffAnswer, shift_answer, staff_answer
from server.api.bodies.setup import ShiftBody, StaffBody
from server.api.caller import Asks
from server.api.json import json_answer
from server.api.once import Writes
from server.api.queries import ShiftsQuery, StaffQuery
from server.api.requests import StrictRoute
from server.services.enter_shift import enter_shift, list_shifts
from server.services.enter_staff import enter_staff, list_staff
from server.services.shown import shows_no_patient

router = APIRouter(route_class=StrictRoute, tags=["set-up"])


@router.post("/staff", status_code=201, response_model=StaffAnswer, responses=WRITING)
def post_staff(request: Request, body: StaffBody, writes: Writes) -> Response:
    """Enter a member of staff, or change the one of that id."""
    answer = writes.write(
        lambda session, actor, now: staff_answer(enter_staff(session, actor, body.draft(), now=now))
    )
    request.app.state.rights_changed()
    return answer


@router.get("/staff", response_model=list[StaffAnswer], responses=READING)
@shows_no_patient
def get_staff(asks: Asks, query: Annotated[StaffQuery, Query()]) -> Response:
    """The staff of a ward, by name."""
    with asks.read() as (session, _):
        staff = list_staff(session, asks.actor, query.ward_id)
    return json_answer([staff_answer(one) for one in staff])


@router.post("/shifts", status_code=201, response_model=ShiftAnswer, responses=WRITING)
def post_shift(body: ShiftBody, writes: Writes) -> Response:
    """Enter a shift."""
    return writes.write(
        lambda session, actor, now: shift_answer(enter_shift(session, actor, body.draft(), now=now))
    )


@router.get("/shifts", response_model=list[ShiftAnswer], responses=READING)
@shows_no_patient
def get_shifts(asks: Asks, query: Annotated[ShiftsQuery, Query()]) -> Response:
    """The shifts on a ward that overlap a period."""
    with asks.read() as (session, _):
        found = list_shifts(session, asks.actor, query.ward_id, query.from_at, query.to_at)
    return json_answer([shift_answer(one) for one in found])
