"""The review: which limits of a ward were kept, late and missed."""

from typing import Annotated

from fastapi import APIRouter, Query, Response

from server.api.answers.problem import READING
from server.api.answers.review import ReviewAnswer, review_answer
from server.api.caller import Asks
from server.api.json import json_answer
from server.api.queries import ReviewQuery
from server.api.requests import StrictRoute
from server.services.review_rates import review_rates
from server.services.shown import shows_no_patient

router = APIRouter(route_class=StrictRoute, tags=["review"])


@router.get("/review", response_model=ReviewAnswer, responses=READING)
@shows_no_patient
def get_review(asks: Asks, query: Annotated[ReviewQuery, Query()]) -> Response:
    """The rates of a ward in a period, by clock and by part of it; nobody is named."""
    with asks.read() as (session, now):
        found = review_rates(session, asks.actor, query.ward_id, query.asked, now=now)
    return json_answer(review_answer(found, query.component))
