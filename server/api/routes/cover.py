"""Cover: who answers for whose units on a ward."""

from typing import Annotated

from fastapi import APIRouter, Query, Response

from server.api.answers.cover import (
    CoverageAnswer,
    CoverAnswer,
    cover_answer,
    coverage_answer,
)
from server.api.answers.problem import READING, WRITING
from server.api.bodies.cover import CoverBody
from server.api.caller import Asks
from server.api.json import json_answer
from server.api.once import Writes
from server.api.queries import OfWard, PathId
from server.api.requests import StrictRoute
from server.domain.audit import SubjectKind
from server.services.cover import cover, end_cover
from server.services.read_coverage import read_coverage
from server.services.shown import shows

router = APIRouter(route_class=StrictRoute, tags=["cover"])


@router.post("/cover", status_code=201, response_model=CoverAnswer, responses=WRITING)
def post_cover(body: CoverBody, writes: Writes) -> Response:
    """Enter a cover; a nurse gives or has it, whoever is in charge arranges any."""
    return writes.write(
        lambda session, actor, now: cover_answer(cover(session, actor, body.draft(), now=now))
    )


@router.post("/cover/{id}/end", response_model=CoverAnswer, responses=WRITING)
def post_end(id: PathId, writes: Writes) -> Response:
    """End a cover early, or take back one that is yet to begin; 409 for one that is over."""
    return writes.write(
        lambda session, actor, now: cover_answer(end_cover(session, actor, id, now=now)),
        status=200,
    )


@router.get("/cover", response_model=CoverageAnswer, responses=READING)
@shows(SubjectKind.COVER, ward="ward_id")
def get_cover(asks: Asks, query: Annotated[OfWard, Query()]) -> Response:
    """Who covers whom on a ward, and for whose units nobody is there."""
    with asks.read() as (session, now):
        coverage = read_coverage(session, asks.actor, query.ward_id, now=now)
    return json_answer(coverage_answer(coverage))
