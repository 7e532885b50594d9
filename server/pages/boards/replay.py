"""The board as it was at an instant, or as it was known then: a plain page that stands still."""

from collections.abc import Mapping
from datetime import UTC, datetime
from typing import Final
from zoneinfo import ZoneInfo

from fastapi import Request, Response

from server.domain.wording import day_text
from server.pages.board_view import Place, board_view, is_night
from server.pages.forms.entry import Wrong
from server.pages.links import ward_href
from server.pages.rendering import page
from server.pages.row_view import row_view
from server.pages.time_window import window_at
from server.pages.visitors import Visitor, now_of
from server.pages.ward_setting import head_of, ward_setting
from server.services.enter_staff import list_staff
from server.services.read_board import read_board

NO_INSTANT: Final = "expected an instant with its offset, such as 2026-11-25T14:10:00Z"


def replayed_page(
    request: Request, visitor: Visitor, ward_id: str, query: Mapping[str, str]
) -> Response:
    """Answer the board of `?at=` and `?known_at=`. Raises `Wrong`, `NotFound`, `Forbidden`."""
    now = now_of(request)
    at, known_at = (asked_instant(name, query) for name in ("at", "known_at"))
    with request.app.state.store.read() as session:
        setting = ward_setting(session, visitor.actor, now, ward_id)
        board = read_board(session, visitor.actor, ward_id, now=now, at=at, known_at=known_at)
        names = {one.id: one.name for one in list_staff(session, visitor.actor, ward_id)}
    window, zone = window_at(board.at), ZoneInfo(board.ward.timezone)
    href = ward_href(ward_id, "board")
    place = Place(
        ward_name=board.ward.name,
        zone=zone,
        revision=board.revision,
        night=setting.policy is not None and is_night(board.at, zone, setting.policy),
        href=href,
        stream_href="",
        refresh_href=href,
    )
    rows = [row_view(row.picture, window, names) for row in board.rows]
    view = board_view(rows, place, board.at, names, query.get("nurse") or None)
    head = head_of(visitor, setting, board.at, "board")
    said = board.at.astimezone(zone)
    shown = f"{said:%H:%M} on {day_text(said)}"
    return page(
        "replay/replay.html",
        head=head,
        board=view,
        shown=shown,
        known="" if known_at is None else f"{known_at.astimezone(zone):%H:%M on %d %B %Y}",
        board_href=href,
    )


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
