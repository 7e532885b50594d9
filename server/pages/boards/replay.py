"""Instants of an address, and where the board of one of the past is found."""

from collections.abc import Mapping
from datetime import UTC, datetime
from typing import Final

from fastapi import Response
from fastapi.responses import RedirectResponse

from server.pages.forms.entry import Wrong
from server.pages.links import ward_href
from server.pages.page_head import iso
from server.pages.rendering import HEADERS

NO_INSTANT: Final = "expected an instant with its offset, such as 2026-11-25T14:10:00Z"


def to_replay(ward_id: str, query: Mapping[str, str]) -> Response:
    """Send `?at=` and `?known_at=` of a board on to the replay of the same. Raises `Wrong`."""
    at, known_at = (asked_instant(name, query) for name in ("at", "known_at"))
    asked = {} if at is None else {"at": iso(at)}
    if known_at is None:
        asked["known"] = "now"
    elif known_at != at:
        asked["known"] = iso(known_at)
    if query.get("nurse"):
        asked["nurse"] = query["nurse"]
    href = ward_href(ward_id, "replay", **asked)
    return RedirectResponse(href, status_code=303, headers=dict(HEADERS))


def asked_instant(name: str, query: Mapping[str, str]) -> datetime | None:
    """Answer the instant that an address asks for, None without one. Raises `Wrong`."""
    typed = query.get(name)
    if not typed:
        return None
    try:
        # A plus sign that was not written as %2B reaches us as a blank.
        instant = datetime.fromisoformat(typed.replace(" ", "+"))
    except ValueError:
        raise Wrong({name: NO_INSTANT}) from None
    if instant.tzinfo is None:
        raise Wrong({name: NO_INSTANT})
    return instant.astimezone(UTC)
