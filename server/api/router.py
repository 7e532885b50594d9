"""All routes of the JSON interface, and what is answered when one of them refuses."""

from collections.abc import Callable, Mapping
from typing import Any, Final

from fastapi import APIRouter, Request, Response
from fastapi.exceptions import RequestValidationError
from starlette.exceptions import HTTPException

from server.api import problems
from server.api.pace import TooFast
from server.api.routes import (
    audit,
    board,
    cover,
    episodes,
    health,
    labels,
    metrics,
    orders,
    patients,
    people,
    plans,
    review,
    stream,
    wards,
    webhooks,
)
from server.api.validation import of_validation
from server.domain.errors import Invalid, Refused
from server.services.errors import Conflict, Forbidden, NotFound, StaleRevision, Unreadable
from server.store.errors import Away, Clash

PREFIX: Final = "/api"

Handler = Callable[[Request, Any], Response]

HANDLERS: Final[Mapping[type[Exception], Handler]] = {
    Away: problems.of_away,
    Clash: problems.of_clash,
    Conflict: problems.of_conflict,
    Forbidden: problems.of_forbidden,
    HTTPException: problems.of_http,
    Invalid: problems.of_invalid,
    NotFound: problems.of_not_found,
    Refused: problems.of_refused,
    RequestValidationError: of_validation,
    StaleRevision: problems.of_stale,
    TooFast: problems.of_too_fast,
    Unreadable: problems.of_unreadable,
    problems.Unknown: problems.of_unknown,
}


def api_router() -> APIRouter:
    """The routes under `/api`, and the signs of life beside them."""
    router = APIRouter()
    for resource in (
        wards,
        people,
        cover,
        patients,
        orders,
        episodes,
        board,
        review,
        labels,
        plans,
        stream,
        webhooks,
        audit,
    ):
        router.include_router(resource.router, prefix=PREFIX)
    router.include_router(health.router)
    router.include_router(metrics.router)
    return router
