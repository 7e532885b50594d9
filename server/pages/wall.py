"""The wall: one ward's board by a secret link, without names and without a sign-in."""

from datetime import datetime
from time import monotonic
from typing import Any, Final
from zoneinfo import ZoneInfo

from fastapi import APIRouter, Request
from starlette.concurrency import run_in_threadpool
from starlette.routing import Route
from starlette.types import Receive, Scope, Send

from server.live import StreamResponse, seen_revision
from server.pages.answers import PageRoute, failed
from server.pages.boards.away import page_of_last_known
from server.pages.boards.faces import WALL
from server.pages.boards.kept import kept_boards
from server.pages.boards.patience import unless_away
from server.pages.boards.raw import query_of, send_html
from server.pages.boards.streams import BoardEncoder, send_guarded
from server.pages.boards.ward_board import Addresses, Wanted
from server.pages.links import wall_href
from server.pages.page_head import live_head, page_head
from server.pages.signed_in import SEEN_WITHIN
from server.services.actor import SYSTEM
from server.services.errors import NotFound
from server.services.shown import shows_no_patient
from server.services.wall_links import ward_of_wall_link
from server.store.errors import Away

router = APIRouter(route_class=PageRoute, include_in_schema=False)

KEPT_SECONDS: Final = 3.0
MOST_KEPT: Final = 1_024
GONE: Final = NotFound("the wall link")


class OpenLinks:
    """Which ward a link opens, remembered for a few seconds.

    When it was last looked up is kept longer, for the time in which none can be.
    """

    def __init__(self) -> None:
        self._kept: dict[str, tuple[float, str]] = {}
        self._seen: dict[str, tuple[datetime, str]] = {}

    def forget_all(self) -> None:
        """Look every link up again: one was taken back."""
        self._kept.clear()
        self._seen.clear()

    async def ward_of(self, app: Any, secret: str) -> str | None:
        """The ward of a link, None for one that opens nothing (any more).

        While the database is away a link opens what it opened shortly before. Raises `Away`.
        """
        kept = self._kept.get(secret)
        if kept is not None and kept[0] > monotonic():
            return kept[1]
        try:
            return self._keep(app, secret, await unless_away(app.state.feed, _look_up, app, secret))
        except Away:
            seen_at, ward_id = self._seen.get(secret, (None, None))
            away_since = app.state.feed.reached_at
            if seen_at is None or away_since is None or seen_at < away_since - SEEN_WITHIN:
                raise
            return ward_id

    def _keep(self, app: Any, secret: str, ward_id: str | None) -> str | None:
        for kept in (self._kept, self._seen):
            if len(kept) >= MOST_KEPT:
                kept.clear()
        if ward_id is None:
            self._seen.pop(secret, None)
        else:
            self._kept[secret] = (monotonic() + KEPT_SECONDS, ward_id)
            self._seen[secret] = (app.state.clock(), ward_id)
        return ward_id


def _look_up(app: Any, secret: str) -> str | None:
    if app.state.feed.away:
        raise Away("it was when it was last asked")  # asking may take seconds
    with app.state.store.read() as session:
        return ward_of_wall_link(session, secret)


@shows_no_patient  # beds and initials, and nobody is signed in
class WallPage:
    """The page of a wall; `whole` false: the board alone."""

    def __init__(self, *, whole: bool) -> None:
        self._whole = whole

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer the wall of a link; anything else is not found."""
        try:
            await send_html(send, await self._page(scope))
        except Exception as failure:  # noqa: BLE001 - told apart where failures become pages
            await failed(failure, Request(scope))(scope, receive, send)

    async def _page(self, scope: Scope) -> bytes:
        app, secret = scope["app"], scope["path_params"]["secret"]
        ward_id = await open_links(app).ward_of(app, secret)
        if ward_id is None:
            raise GONE
        try:
            return await unless_away(app.state.feed, self._draw, app, ward_id, secret)
        except Away:
            return await run_in_threadpool(self._last_known, app, ward_id, secret)

    def _last_known(self, app: Any, ward_id: str, secret: str) -> bytes:
        known, now = kept_boards(app).last_known, app.state.clock()
        wanted = wanted_wall(ward_id, secret)
        if not self._whole:
            return known.rows(wanted, now).html
        ward = known.said(ward_id, now)[0].ward
        head = page_head(now, ZoneInfo(ward.timezone), ward_name=ward.name)
        return page_of_last_known(app, head, wanted, now)

    def _draw(self, app: Any, ward_id: str, secret: str) -> bytes:
        boards, now, checked_at = (
            kept_boards(app),
            app.state.clock(),
            app.state.feed.pulse.checked_at,
        )
        if app.state.feed.away:
            return self._last_known(app, ward_id, secret)
        wanted = wanted_wall(ward_id, secret)
        rows = boards.fresh(wanted, now) or boards.draw(wanted, now)
        if not self._whole:
            return rows.html
        setting = boards.setting(SYSTEM, ward_id, now)
        head = live_head(
            page_head(now, setting.zone, ward_name=rows.view.ward_name, night=rows.view.night),
            checked_at=checked_at,
            now=now,
            stale_after=app.state.settings.stale_after,
        )
        return boards.page(wanted, secret, (now, checked_at), rows, head)


def wanted_wall(ward_id: str, secret: str) -> Wanted:
    """Answer which board a link means; its addresses hold the secret, so each link has its own."""
    page = wall_href(secret)
    where = Addresses(page, f"{page}/stream", f"{page}/rows")
    return Wanted(ward_id, WALL, None, where)


@shows_no_patient
class WallStream:
    """The stream of a wall; it ends soon after its link was taken back."""

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Send what changes until the wall goes dark or the link is taken back."""
        app, secret = scope["app"], scope["path_params"]["secret"]
        ward_id = await open_links(app).ward_of(app, secret)
        if ward_id is None:
            await send_html(send, b"This link is closed.", 404)
            return

        async def may_listen() -> bool:
            return await open_links(app).ward_of(app, secret) == ward_id

        said = dict(scope["headers"]).get(b"last-event-id", b"").decode("latin-1")
        since = seen_revision(said, query_of(scope).get("since"))
        encoder = BoardEncoder(kept_boards(app), WALL, app.state.clock)
        stream = StreamResponse(app.state.streams, WALL.name, ward_id, encoder, since=since)
        await send_guarded(stream, scope, receive, send, may_listen)


def open_links(app: Any) -> OpenLinks:
    """The links that an application remembers."""
    known: OpenLinks | None = getattr(app.state, "open_links", None)
    if known is None:
        known = app.state.open_links = OpenLinks()
    return known


router.routes += [
    Route("/wall/{secret}", WallPage(whole=True), methods=["GET"]),
    Route("/wall/{secret}/rows", WallPage(whole=False), methods=["GET"]),
    Route("/wall/{secret}/stream", WallStream(), methods=["GET"]),
]
