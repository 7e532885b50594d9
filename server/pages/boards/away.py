"""The page of a board while the database is away."""

from dataclasses import replace
from datetime import datetime
from typing import Any

from server.pages.boards.kept import kept_boards
from server.pages.boards.shells import shell_around
from server.pages.boards.ward_board import Wanted
from server.pages.page_head import PageHead, live_head


def page_of_last_known(app: Any, head: PageHead, wanted: Wanted, now: datetime) -> bytes:
    """Answer the whole page; `head` is that of its reader. Raises `NothingKnown`."""
    known = kept_boards(app).last_known
    rows = known.rows(wanted, now)
    live = live_head(
        replace(head, night=rows.view.night),
        checked_at=app.state.feed.pulse.checked_at,
        now=now,
        stale_after=app.state.settings.stale_after,
    )
    said = replace(live, away_text=known.said(wanted.ward_id, now)[1])
    before, after = shell_around(wanted.face, said, rows.view)
    return b"".join((before, *rows.pieces, after))
