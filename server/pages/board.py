"""The board at the station: the page, the board alone for a refresh, and its stream."""

from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime
from functools import lru_cache
from typing import Any, Final

from fastapi import APIRouter, Request, Response
from fastapi.responses import RedirectResponse
from starlette.concurrency import run_in_threadpool
from starlette.routing import Route
from starlette.types import Receive, Scope, Send

from server.domain.audit import SubjectKind
from server.live import StreamResponse, seen_revision
from server.pages.answers import PageRoute, failed
from server.pages.boards.away import page_of_last_known
from server.pages.boards.faces import STATION
from server.pages.boards.kept import kept_boards
from server.pages.boards.patience import unless_away
from server.pages.boards.raw import query_of, secret_of, send_html
from server.pages.boards.replay import to_replay
from server.pages.boards.streams import BoardEncoder, send_guarded
from server.pages.boards.ward_board import Addresses, Wanted
from server.pages.links import home_href, ward_href
from server.pages.page_head import PageHead, live_head
from server.pages.rendering import HEADERS
from server.pages.visitors import (
    Locked,
    See,
    SignInNeeded,
    Visitor,
    now_of,
    signed_in_of,
    visitor_of,
)
from server.pages.ward_setting import WardSetting, head_of, ward_setting
from server.services.permissions import Act, require
from server.services.shown import ASKED_BY, shows, shows_no_patient
from server.services.sign_in import Holder
from server.store.errors import Away

router = APIRouter(route_class=PageRoute, include_in_schema=False)
GONE: Final = b"You are not signed in any more."
LOCKED: Final = b"The screen is locked."


@router.get("/")
@shows_no_patient
def begin(request: Request, visitor: See) -> Response:
    """Send a person to where the work of the role is."""
    return _to(request, visitor, lambda ward_id: home_href(visitor.actor, ward_id))


@router.get("/board")
@shows_no_patient
def board_of_first_ward(request: Request, visitor: See) -> Response:
    """Send a person to the board of the first of their wards."""
    return _to(
        request, visitor, lambda ward_id: ward_href(ward_id, "board") if ward_id else "/wards"
    )


def _to(request: Request, visitor: Visitor, href: Any) -> Response:
    with request.app.state.store.read() as session:
        setting = ward_setting(session, visitor.actor, now_of(request))
    return RedirectResponse(href(setting.ward_id), status_code=303, headers=dict(HEADERS))


@shows(SubjectKind.BOARD, ward="ward_id")
class BoardPage:
    """The page; `whole` false: the board alone, for a page that stands already."""

    def __init__(self, *, whole: bool) -> None:
        self._whole = whole

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer from memory where nothing changed; a failure is answered as a page."""
        try:
            await self._answer(scope, receive, send)
        except Exception as failure:  # noqa: BLE001 - told apart where failures become pages
            await failed(failure, Request(scope))(scope, receive, send)

    async def _answer(self, scope: Scope, receive: Receive, send: Send) -> None:
        app, query = scope["app"], query_of(scope)
        secret, now = secret_of(app, scope), app.state.clock()
        holder = await signed_in(app, secret, now)
        if holder is None or holder.locked:
            if not self._whole:
                await send_html(send, *_barred(holder))
                return
            raise (SignInNeeded if holder is None else Locked)(_address(scope))
        actor = holder.actor
        scope[ASKED_BY], ward_id = actor, scope["path_params"]["ward_id"]
        require(actor, Act.READ, ward_id)
        visitor = visitor_of(app, holder, secret)
        if "at" in query or "known_at" in query:
            await to_replay(ward_id, query)(scope, receive, send)
            return
        await send_html(send, await self._live(app, visitor, ward_id, query, now))

    async def _live(
        self, app: Any, visitor: Visitor, ward_id: str, query: Mapping[str, str], now: datetime
    ) -> bytes:
        boards, wanted = kept_boards(app), wanted_board(ward_id, query.get("nurse"))
        if app.state.feed.away:
            return await run_in_threadpool(self._last_known, app, visitor, wanted, now)
        rows = boards.fresh(wanted, now)
        if rows is not None and not self._whole:
            return rows.html
        stamp = (now, app.state.feed.pulse.checked_at)
        page = None if rows is None else boards.fresh_page(wanted, visitor.secret, stamp, rows)
        if page is not None:
            return page
        try:
            return await unless_away(app.state.feed, self._draw, app, visitor, wanted, now)
        except Away:
            return await run_in_threadpool(self._last_known, app, visitor, wanted, now)

    def _draw(self, app: Any, visitor: Visitor, wanted: Wanted, now: datetime) -> bytes:
        boards, checked_at = kept_boards(app), app.state.feed.pulse.checked_at
        rows = boards.draw(wanted, now)
        if not self._whole:
            return rows.html
        setting = boards.setting(visitor.actor, wanted.ward_id, now)
        head = live_head(
            _head(visitor, setting, now),
            checked_at=checked_at,
            now=now,
            stale_after=app.state.settings.stale_after,
        )
        return boards.page(wanted, visitor.secret, (now, checked_at), rows, head)

    def _last_known(self, app: Any, visitor: Visitor, wanted: Wanted, now: datetime) -> bytes:
        boards = kept_boards(app)
        if not self._whole:
            return boards.last_known.rows(wanted, now).html
        ward = boards.last_known.said(wanted.ward_id, now)[0].ward
        setting = boards.last_setting(visitor.actor, ward)
        head = _head(visitor, setting, now)
        return page_of_last_known(app, head, wanted, now)


def _head(visitor: Visitor, setting: WardSetting, now: datetime) -> PageHead:
    head = head_of(visitor, setting, now, "board")
    return replace(head, sheet_href=ward_href(setting.ward_id or "", "sheet"))


async def signed_in(app: Any, secret: str, now: datetime) -> Holder | None:
    """Answer whose session a cookie stands for, from memory where it was asked a moment ago."""
    if not secret:
        return None
    known = signed_in_of(app)
    held = known.remembered(secret, now)
    if held is not None:
        return held
    try:
        return await unless_away(app.state.feed, known.find_or_last_known, app, secret, now)
    except Away:
        return await run_in_threadpool(known.find_or_last_known, app, secret, now)


def _barred(holder: Holder | None) -> tuple[bytes, int]:
    """What a part of a page answers to whoever may not look: gone, or locked for a while."""
    return (GONE, 401) if holder is None or not holder.locked else (LOCKED, 423)


@lru_cache(maxsize=1024)
def wanted_board(ward_id: str, nurse_id: str | None) -> Wanted:
    """Answer which board an address of the station means."""
    page = ward_href(ward_id, "board")
    asked = {"nurse": nurse_id} if nurse_id else {}
    where = Addresses(page, f"{page}/stream", ward_href(ward_id, "board/rows", **asked))
    return Wanted(ward_id, STATION, nurse_id or None, where)


def _address(scope: Scope) -> str:
    query = scope["query_string"].decode("latin-1")
    return f"{scope['path']}{'?' if query else ''}{query}"


@shows(SubjectKind.BOARD, ward="ward_id")
class BoardStream:
    """The stream of a ward's board; it ends when the session does."""

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Send what changes until the page leaves or the session is over."""
        app, secret = scope["app"], secret_of(scope["app"], scope)
        ward_id = scope["path_params"]["ward_id"]

        async def may_listen() -> bool:
            now = app.state.clock()
            holder = signed_in_of(app).watching(secret, now) or await signed_in(app, secret, now)
            if holder is None or holder.locked:
                return False
            scope[ASKED_BY] = holder.actor
            return holder.actor.is_on(ward_id)

        if not await may_listen():
            await send_html(send, *_barred(await signed_in(app, secret, app.state.clock())))
            return
        said = dict(scope["headers"]).get(b"last-event-id", b"").decode("latin-1")
        since = seen_revision(said, query_of(scope).get("since"))
        encoder = BoardEncoder(kept_boards(app), STATION, app.state.clock)
        stream = StreamResponse(app.state.streams, STATION.name, ward_id, encoder, since=since)
        await send_guarded(stream, scope, receive, send, may_listen)


router.routes += [
    Route("/wards/{ward_id}/board", BoardPage(whole=True), methods=["GET"]),
    Route("/wards/{ward_id}/board/rows", BoardPage(whole=False), methods=["GET"]),
    Route("/wards/{ward_id}/board/stream", BoardStream(), methods=["GET"]),
]
