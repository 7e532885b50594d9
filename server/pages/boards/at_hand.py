"""The board of a ward, answered before anything else is asked.

On the ordinary way to a page that lies ready, or of which one row has changed, middlewares and
the choice of the route would be most of the cost.
"""

import re
from collections.abc import Awaitable, Callable, Iterable
from typing import Any, Final

from starlette.types import ASGIApp, Receive, Scope, Send

from server.pages.board import BoardPage, wanted_board
from server.pages.boards.kept import kept_boards
from server.pages.boards.raw import secret_of, send_html
from server.pages.visitors import signed_in_of
from server.services.permissions import Act, may
from server.services.shown import ASKED_BY

Noted = Callable[[Scope], Awaitable[None]]

BOARD: Final = re.compile(r"/wards/([^/]+)/board")


class BoardFirst:
    """Answers the board's own address; what is not at hand is drawn by `page`.

    `headers` are those that `page` adds by itself; `noted` is told of a look that was answered
    without it.
    """

    def __init__(
        self, page: ASGIApp, headers: Iterable[tuple[bytes, bytes]], *, noted: Noted
    ) -> None:
        self._page = page
        self._headers = tuple(headers)
        self._noted = noted

    async def answer(self, app: Any, scope: Scope, receive: Receive, send: Send) -> bool:
        """Answer if it is the board that is asked for; False: ask the routes."""
        if scope["type"] != "http" or scope["method"] != "GET":
            return False
        found = BOARD.fullmatch(scope["path"])
        if found is None:
            return False
        scope.update(app=app, path_params={"ward_id": found[1]}, endpoint=BoardPage)
        page = page_at_hand(app, scope, found[1])
        if page is not None:
            await send_html(send, page, more=self._headers)
            await self._noted(scope)
            return True
        await self._page(scope, receive, send)
        return True


def page_at_hand(app: Any, scope: Scope, ward_id: str) -> bytes | None:
    """The very bytes that `BoardPage` would send from memory, None if it would have to draw."""
    quick = not scope["query_string"] and not app.state.feed.away
    secret = secret_of(app, scope) if quick else ""
    now = app.state.clock()
    holder = signed_in_of(app).remembered(secret, now) if secret else None
    if holder is None or not may(holder.actor, Act.READ, ward_id):
        return None
    boards, wanted = kept_boards(app), wanted_board(ward_id, None)
    rows = boards.fresh(wanted, now)
    scope[ASKED_BY] = holder.actor
    stamp = (now, app.state.feed.pulse.checked_at)
    return None if rows is None else boards.fresh_page(wanted, secret, stamp, rows)
