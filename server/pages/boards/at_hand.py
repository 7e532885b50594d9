"""A board that is ready for its reader: answered before anything else is asked.

On the ordinary way to a page that lies ready, middlewares and the choice of the route would be
most of the cost.
"""

import re
from typing import Any, Final

from starlette.types import Scope

from server.pages.board import wanted_board
from server.pages.boards.kept import kept_boards
from server.pages.boards.raw import secret_of
from server.pages.visitors import signed_in_of
from server.services.permissions import Act, may

BOARD: Final = re.compile(r"/wards/([^/]+)/board")


def page_at_hand(app: Any, scope: Scope) -> bytes | None:
    """The very bytes that `BoardPage` would send from memory; None: take the ordinary way."""
    if scope["type"] != "http" or scope["method"] != "GET" or scope["query_string"]:
        return None
    found = BOARD.fullmatch(scope["path"])
    secret = secret_of(scope) if found else ""
    actor = signed_in_of(app).remembered(secret) if secret else None
    if found is None or actor is None or not may(actor, Act.READ, found[1]):
        return None
    boards, wanted, now = kept_boards(app), wanted_board(found[1], None), app.state.clock()
    rows = boards.fresh(wanted, now)
    stamp = (now, app.state.feed.pulse.checked_at)
    return None if rows is None else boards.fresh_page(wanted, secret, stamp, rows)
