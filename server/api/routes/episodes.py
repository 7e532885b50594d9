"""Episodes and their events."""

from datetime import datetime
from typing import Annotated

from fastapi import APIRouter, Query, Response

from server.api.answers.episode import EpisodeAnswer, EventRecorded, episode_answer
from server.api.answers.problem import READING_ONE, WRITING
from server.api.answers.why import WhyAnswer, why_answer
from server.api.bodies.asking import EpisodeBody
from server.api.bodies.event import EventBody, event_draft
from server.api.caller import Asks
from server.api.fields import ClockName
from server.api.json import json_answer
from server.api.once import Writes
from server.api.queries import AsOf, PathId, PathNumber
from server.api.requests import StrictRoute
from server.domain.audit import SubjectKind
from server.services.actor import Actor
from server.services.cases import read_before
from server.services.explain_breach import explain_breach
from server.services.open_episode import open_episode
from server.services.read_episode import read_episode, read_recorded
from server.services.record_event import record_event
from server.services.shown import shows
from server.store.sessions import WriteSession

router = APIRouter(route_class=StrictRoute, tags=["episodes"])


@router.post("/episodes", status_code=201, response_model=EpisodeAnswer, responses=WRITING)
def post_episode(body: EpisodeBody, writes: Writes) -> Response:
    """Open an episode without an order."""

    def act(session: WriteSession, actor: Actor, now: datetime) -> EpisodeAnswer:
        request = open_episode(session, actor, body.draft(), now=now)
        return episode_answer(read_episode(session, actor, request.id, now=now))

    return writes.write(act)


@router.get("/episodes/{id}", response_model=EpisodeAnswer, responses=READING_ONE)
@shows(SubjectKind.EPISODE, "id")
def get_episode(id: PathId, asks: Asks, query: Annotated[AsOf, Query()]) -> Response:
    """An episode with its clocks, flow, observations, breaches and events."""
    with asks.read() as (session, now):
        read = read_episode(session, asks.actor, id, now=now, at=query.at, known_at=query.known_at)
    return json_answer(episode_answer(read))


@router.get(
    "/episodes/{id}/breaches/{clock}/{n}/why", response_model=WhyAnswer, responses=READING_ONE
)
@shows(SubjectKind.EPISODE, "id")
def get_why(id: PathId, clock: ClockName, n: PathNumber, asks: Asks) -> Response:
    """Why one limit of an episode was not kept, and what would have kept it."""
    with asks.read() as (session, now):
        found = explain_breach(session, asks.actor, id, clock, n, now=now)
    return json_answer(why_answer(found))


@router.post(
    "/episodes/{id}/events", status_code=201, response_model=EventRecorded, responses=WRITING
)
def post_event(id: PathId, body: EventBody, writes: Writes) -> Response:
    """Record one fact about a unit."""
    with writes.caller.read() as (before, now):
        ahead = read_before(before, id, now=now, reaching=body.happened_at)

    def act(session: WriteSession, actor: Actor, now: datetime) -> EventRecorded:
        recorded = record_event(session, actor, id, event_draft(body, now), now=now, ahead=ahead)
        read = read_recorded(session, recorded, now=now)
        return EventRecorded(
            event_id=recorded.event_id,
            revision=recorded.revision,
            episode=episode_answer(read),
        )

    return writes.write(act)
