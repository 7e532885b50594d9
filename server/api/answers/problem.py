"""The problems that any route can answer, for the document."""

from typing import Any, Final

from pydantic import Field

from server.api.fields import Given
from server.domain.words import Phase


class FieldError(Given):
    """What is wrong with one field, by its dotted path."""

    field: str
    message: str


class Problem(Given):
    """A problem (RFC 9457). `instance` holds the number that `X-Request-ID` and the log have."""

    type: str
    title: str
    status: int
    detail: str
    instance: str | None = Field(default=None, description="Names the request in the log.")


class InvalidProblem(Problem):
    """Malformed or implausible."""

    errors: list[FieldError]


class ConflictProblem(Problem):
    """Not possible as things stand.

    `phase` where the phase of the episode or the local policy does not allow it, `revision` where
    the episode has changed since.
    """

    phase: Phase | None = None
    field: str | None = None
    revision: int | None = None


def documented(*statuses: int) -> dict[int | str, dict[str, Any]]:
    """The entries of the document for problems of these statuses."""
    return {status: _entry(status) for status in statuses}


def _entry(status: int) -> dict[str, Any]:
    model = _MODELS.get(status, Problem)
    schema = {"$ref": f"#/components/schemas/{model.__name__}"}
    content = {"application/problem+json": {"schema": schema}}
    return {"description": _WORDS[status], "content": content}


_MODELS: Final[dict[int, type[Problem]]] = {409: ConflictProblem, 422: InvalidProblem}
_WORDS: Final = {
    401: "No token, or one that opens nothing",
    403: "Not this role, or not this ward",
    404: "There is no such thing",
    409: "Not possible as things stand, or an Idempotency-Key with another request",
    413: "The body is too large",
    422: "Malformed or implausible",
    429: "The token asks too often; `Retry-After` says when again",
    503: "The database is away",
}
READING: Final = documented(401, 403, 404, 422, 429, 503)
READING_ONE: Final = READING | documented(409)
"""Of one episode: what is recorded of it may be unreadable."""
SEARCHING: Final = documented(401, 403, 413, 422, 429, 503)
WRITING: Final = documented(401, 403, 404, 409, 413, 422, 429, 503)
