"""Orders."""

from typing import Annotated

from fastapi import APIRouter, Query, Response

from server.api.answers.asking import OrderAnswer, order_answer
from server.api.answers.problem import READING, WRITING
from server.api.bodies.asking import OrderBody
from server.api.caller import Asks
from server.api.json import json_answer
from server.api.once import Writes
from server.api.queries import OfWard
from server.api.requests import StrictRoute
from server.domain.audit import SubjectKind
from server.services.open_order import list_orders, open_order
from server.services.shown import shows

router = APIRouter(route_class=StrictRoute, tags=["orders"])


@router.post("/orders", status_code=201, response_model=OrderAnswer, responses=WRITING)
def post_order(body: OrderBody, writes: Writes) -> Response:
    """Place an order; it gives one episode for each unit."""
    return writes.write(
        lambda session, actor, now: order_answer(open_order(session, actor, body.draft(), now=now))
    )


@router.get("/orders", response_model=list[OrderAnswer], responses=READING)
@shows(SubjectKind.ORDERS, ward="ward_id")
def get_orders(asks: Asks, query: Annotated[OfWard, Query()]) -> Response:
    """The newest orders of a ward."""
    with asks.read() as (session, _):
        found = list_orders(session, asks.actor, query.ward_id)
    return json_answer([order_answer(one) for one in found])
