"""Errors as `application/problem+json` (RFC 9457), without a patient's data or a stack trace."""

import json
import logging
from collections.abc import Mapping
from http import HTTPStatus
from math import ceil
from typing import Any, Final

from fastapi import Request, Response
from starlette.exceptions import HTTPException

from server.api.document import methods_at
from server.api.pace import TooFast
from server.domain.errors import Invalid, Refused
from server.logs import request_number
from server.services.errors import Conflict, Forbidden, NotFound, StaleRevision, Unreadable
from server.services.fault_words import fault_words
from server.services.permissions import Act, may
from server.services.shown import ASKED_BY
from server.store.errors import Away, Clash

MEDIA_TYPE: Final = "application/problem+json"
RETRY_SECONDS: Final = 5

_LOG: Final = logging.getLogger(__name__)


class Unknown(Exception):
    """No token, or one that opens nothing."""


def problem(
    status: int, kind: str, detail: str, *, headers: Mapping[str, str] | None = None, **more: Any
) -> Response:
    """A problem of a `kind` that a program can tell apart, with `more` members.

    Its `instance` is the number of the request, under which the log tells what happened.
    """
    said = {
        "type": f"urn:fourth-hour:problem:{kind}",
        "title": HTTPStatus(status).phrase,
        "status": status,
        "detail": detail,
        **more,
    }
    if number := request_number():
        said["instance"] = f"urn:fourth-hour:request:{number}"
    return Response(json.dumps(said), status, headers, MEDIA_TYPE)


def invalid(*errors: tuple[str, str]) -> Response:
    """A problem with fields: pairs of the field's dotted path and what is wrong with it."""
    named = [{"field": field, "message": message} for field, message in errors]
    fields = ", ".join(dict.fromkeys(field for field, _ in errors))
    return problem(422, "invalid", f"Not acceptable: {fields}.", errors=named)


def of_invalid(_: Request, refused: Invalid) -> Response:
    """The domain found a value impossible."""
    return invalid((refused.field, refused.message))


def of_refused(_: Request, refused: Refused) -> Response:
    """The phase or the local policy does not allow it."""
    return problem(409, "refused", refused.reason, phase=refused.phase, field=refused.field)


def of_stale(_: Request, stale: StaleRevision) -> Response:
    """The episode has changed since it was looked at."""
    return problem(409, "stale-revision", f"{_sentence(stale)}", revision=stale.revision)


def of_unreadable(request: Request, lost: Unreadable) -> Response:
    """What is recorded of the episode cannot be read; to strangers it is any other."""
    if not may(request.scope[ASKED_BY], Act.READ, lost.unit.ward_id):
        return problem(403, "forbidden", "This is not one of your wards.")
    _LOG.error("a unit cannot be read: %s", fault_words(lost))
    return problem(409, "unreadable-episode", _sentence(lost))


def of_conflict(_: Request, conflict: Conflict) -> Response:
    """It clashes with what is there."""
    return problem(409, "conflict", _sentence(conflict))


def of_clash(_: Request, clash: Clash) -> Response:
    """The database holds one like it, or misses what it refers to; its words stay in the log."""
    _LOG.warning("two facts clash: %s", clash)
    return problem(409, "conflict", "It clashes with what was recorded before.")


def of_not_found(_: Request, missing: NotFound) -> Response:
    """There is no such thing."""
    return problem(404, "not-found", _sentence(missing))


def of_forbidden(_: Request, forbidden: Forbidden) -> Response:
    """Not this role, or not this ward."""
    return problem(403, "forbidden", _sentence(forbidden))


def of_unknown(_: Request, unknown: Unknown) -> Response:
    """Nobody knows who asks."""
    said = {"www-authenticate": 'Bearer realm="fourth-hour"'}
    return problem(401, "unknown", _sentence(unknown), headers=said)


def of_too_fast(_: Request, fast: TooFast) -> Response:
    """The token asks more often than it may."""
    wait = {"retry-after": str(ceil(fast.seconds))}
    return problem(429, "too-fast", _sentence(fast), headers=wait)


def of_away(_: Request, away: Away) -> Response:
    """The database is away, for a while as one hopes."""
    _LOG.warning("the database is away: %s", away)
    wait = {"retry-after": str(RETRY_SECONDS)}
    return problem(503, "database-away", "The database is away; try again.", headers=wait)


def of_http(request: Request, error: HTTPException) -> Response:
    """What the framework refuses: a path, a method, a size."""
    status = error.status_code
    kind = HTTPStatus(status).phrase.lower().replace(" ", "-")
    headers = {name.lower(): value for name, value in (error.headers or {}).items()}
    if status == HTTPStatus.METHOD_NOT_ALLOWED:
        # The framework names the methods of the first route at this address only.
        headers["allow"] = methods_at(request) or headers.get("allow", "")
    return problem(status, kind, f"{error.detail}", headers=headers)


def of_fault(_: Request, fault: Exception) -> Response:
    """A mistake of ours: told by the number that stands in the log beside the trace."""
    _LOG.error("a request failed", extra={"stack": fault_words(fault)})
    return problem(500, "fault", "Something went wrong here; nothing was stored.")


def _sentence(error: Exception) -> str:
    text = str(error)
    return f"{text[:1].upper()}{text[1:]}."
