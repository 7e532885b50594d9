"""Signs of life, for whoever keeps the process running."""

from datetime import datetime

from fastapi import APIRouter, Request, Response

from server.api.answers.problem import documented
from server.api.fields import Given
from server.api.instants import Moment
from server.api.json import json_answer
from server.api.problems import RETRY_SECONDS, problem
from server.services.read_readiness import Readiness, read_readiness
from server.services.shown import shows_no_patient

router = APIRouter(tags=["health"])


class Alive(Given):
    """The process answers."""

    status: str


class Ready(Given):
    """The database answers, and the last tick succeeded at `last_tick_at`."""

    status: str
    last_tick_at: Moment | None


@router.get("/healthz", response_model=Alive)
@shows_no_patient
def get_health() -> Response:
    """200 while the process is alive."""
    return json_answer(Alive(status="alive"))


@router.get("/readyz", response_model=Ready, responses=documented(503))
@shows_no_patient
def get_readiness(request: Request) -> Response:
    """200 when the database answers and the last tick succeeded recently; 503 says which not."""
    state = request.app.state
    now: datetime = state.clock()
    readiness = read_readiness(state.store, now=now, stale_after=state.settings.stale_after)
    if readiness.failing is None:
        return json_answer(Ready(status="ready", last_tick_at=readiness.last_tick_at))
    return _not_ready(readiness)


def _not_ready(readiness: Readiness) -> Response:
    wait = {"retry-after": str(RETRY_SECONDS)}
    return problem(503, "not-ready", readiness.detail, headers=wait, failing=readiness.failing)
