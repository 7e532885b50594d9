"""What FastAPI and Pydantic find wrong with a request, said field by field."""

from collections.abc import Mapping
from typing import Any, Final

from fastapi import Request, Response
from fastapi.exceptions import RequestValidationError

from server.api.fields import ID_PATTERN, LINE_PATTERN, TEXT_PATTERN
from server.api.problems import invalid, problem
from server.domain.words import Kind

LONGEST: Final = 120
WORDS: Final = {
    "extra_forbidden": "is not known here",
    "missing": "is missing",
    "string_unicode": "is not valid Unicode",
}
PATTERNS: Final = {
    ID_PATTERN: "expected 1 to 80 letters, digits, dots, colons, hyphens or underscores",
    LINE_PATTERN: "expected one line of text without control characters",
    TEXT_PATTERN: "expected text without control characters",
}


def of_validation(request: Request, refused: RequestValidationError) -> Response:
    """422 that names every field; 404 for an address that can name nothing."""
    malformed: str | None = getattr(request.state, "malformed", None)
    if malformed is not None:
        return invalid(("body", malformed))
    errors = refused.errors()
    if any(error["loc"][:1] == ("path",) for error in errors):
        return problem(404, "not-found", "There is no such thing.")
    return invalid(*((field_of(error), message_of(error)) for error in errors))


def field_of(error: Mapping[str, Any]) -> str:
    """The dotted path of a field as the JSON names it; `body` for the body itself."""
    place, *path = error["loc"]
    if _lacks_kind(error):
        path.append("kind")
    elif place == "body" and len(path) > 1 and path[0] in _KINDS:
        path = path[1:]
    said = ".".join(str(part) for part in path)
    plain = said.encode("utf-8", "replace").decode()[:LONGEST]
    return plain or str(place)


def message_of(error: Mapping[str, Any]) -> str:
    """What is wrong, in words; never what was sent."""
    if _lacks_kind(error):
        return f"expected one of {', '.join(sorted(_KINDS))}"
    if error["loc"] == ("body",):
        return "expected a JSON object, sent as application/json"
    if error["type"] == "value_error":
        return str(error["ctx"]["error"])
    if error["type"] == "string_pattern_mismatch":
        return PATTERNS.get(error["ctx"]["pattern"], str(error["msg"]))
    return WORDS.get(error["type"], str(error["msg"]))


def _lacks_kind(error: Mapping[str, Any]) -> bool:
    """Whether an object names no kind of event, or one that does not exist."""
    return error["type"].startswith("union_tag") and isinstance(error["input"], dict)


_KINDS: Final = frozenset(kind.value for kind in Kind)
