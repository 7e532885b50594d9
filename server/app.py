"""The application: its routes, what stands before them, and what runs beside them."""

import asyncio
import gc
import sys
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from functools import cache
from socket import socket
from types import FrameType
from typing import Any, Final

import uvicorn
from fastapi import APIRouter, FastAPI, Request, Response
from fastapi.staticfiles import StaticFiles
from starlette.routing import BaseRoute
from starlette.types import Receive, Scope, Send

from server import __version__
from server.api.document import document_of
from server.api.entrance import Entrance
from server.api.guards import BodyLimit, Faults, SecurityHeaders, security_headers
from server.api.measuring import Measures
from server.api.noting import NotesViews, note_look
from server.api.pace import Pace
from server.api.problems import of_fault
from server.api.router import HANDLERS, PREFIX, Handler, api_router
from server.clock import Clock, utc_now
from server.domain.invariants import Patience
from server.jobs.presence import Presence
from server.jobs.scheduler import Scheduler
from server.jobs.table import JOBS, Job, invariants_job
from server.key_file import read_key
from server.live import Feed, Streams
from server.live.response import STRAIGHT
from server.live.sockets import drop_who_takes_nothing
from server.logs import start_log
from server.pages import router as pages_router
from server.pages.answers import failed
from server.pages.board import BoardPage
from server.pages.boards.at_hand import BoardFirst
from server.pages.boards.keeper import Keeper
from server.pages.sheets.writing import SheetWriter
from server.pages.visitors import signed_in_of
from server.policies import load_policies
from server.services.board_key import BoardKey
from server.services.note_token_uses import TokenUses
from server.services.note_views import Views
from server.services.plan_runs import PlanRuns
from server.services.policies import bring_up_to_date
from server.services.read_changes import Changes
from server.services.seal_secrets import seal_secrets
from server.services.sheet_folder import EVERY
from server.services.sso_open import open_provider
from server.services.sso_refusals import LibraryMissing
from server.services.upgrade_database import upgrade_database
from server.settings import Settings, SettingsError
from server.site import load_site
from server.store.bell import Bell
from server.store.store import Store
from server.store.vault import Vault
from server.web_files import static_folder

GRACE_SECONDS: Final = 3
COLLECT_AFTER: Final = (50_000, 20, 20)
SWITCH_SECONDS: Final = 0.0005
"""A thread that has its answer from the database waits for others no longer than this: whoever has
the turn to write waits some twenty times for each fact, and everybody behind it with it."""


def create_app(
    settings: Settings,
    store: Store | None = None,
    *,
    run_jobs: bool = True,
    keep_boards: bool = False,
    clock: Clock = utc_now,
) -> FastAPI:
    """The whole board over one database; without `store` it opens, and closes, its own.

    With `keep_boards`, for a process that is really served, it reads wards before anybody asks, for
    when the database goes away, and says of itself that it runs.
    Raises `PolicyError` for a policy or site file that is wrong, `SettingsError` for the file of
    the key and for single sign-on without its extra, ValueError for a database address.
    """
    app = Board(
        title="Fourth Hour",
        version=__version__,
        lifespan=_lifespan(run_jobs=run_jobs, keep_boards=keep_boards, own_store=store is None),
        openapi_url=f"{PREFIX}/openapi.json",
        docs_url=None,
        redoc_url=None,
    )
    _set_state(app, settings, store or Store(settings.database), clock)
    measures = app.state.measures
    app.state.entrance = Entrance(app.answer, proxies=settings.proxies, measures=measures)
    app.state.store.site = load_site(settings.site)
    app.router.routes.extend(_routes())
    app.mount("/static", Static(directory=static_folder()), name="static")
    for kind, handler in HANDLERS.items():
        app.add_exception_handler(kind, _as_asked(handler))
    app.add_middleware(NotesViews)
    app.add_middleware(BodyLimit, limit=settings.body_limit_bytes)
    app.add_middleware(Faults, answer=_as_asked(of_fault))
    app.add_middleware(SecurityHeaders, secure=settings.secure_cookies)
    app.openapi = document_of(app)  # type: ignore[method-assign]  # as FastAPI's manual has it
    return app


class Board(FastAPI):
    """The application; the board of a ward is answered first of all."""

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer under a number that the log has too."""
        entrance: Entrance = self.state.entrance
        scope[STRAIGHT] = send
        await entrance(scope, receive, send)

    async def answer(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer the board, or by way of middlewares and routes whatever else is asked for."""
        first: BoardFirst = self.state.board_first
        if not await first.answer(self, scope, receive, send):
            await super().__call__(scope, receive, send)


class Static(StaticFiles):
    """Files that a browser keeps and asks about each time: after an upgrade none is out of date."""

    def file_response(self, *args: Any, **options: Any) -> Response:
        """The file, or that it is still the same."""
        answer = super().file_response(*args, **options)
        answer.headers["cache-control"] = "no-cache"
        return answer


def _as_asked(handler: Handler) -> Handler:
    """A refusal as a problem for programs, and as a page for whoever looks at pages."""

    def answer(request: Request, refusal: Exception) -> Response:
        of_page = not request.url.path.startswith(f"{PREFIX}/")
        if of_page and "text/html" in request.headers.get("accept", ""):
            return failed(refusal, request)
        return handler(request, refusal)

    return answer


@cache
def _routes() -> tuple[BaseRoute, ...]:
    """All routes; they hold nothing of a board, and take longer to work out than all the rest."""
    every = APIRouter()
    every.include_router(api_router())
    every.include_router(pages_router)
    return tuple(every.routes)


def _set_state(app: FastAPI, settings: Settings, store: Store, clock: Clock) -> None:
    """What routes find on the application."""
    feed = Feed(Changes(store), now=clock)
    app.state.settings = settings
    secure = settings.secure_cookies
    app.state.measures = Measures()
    page = SecurityHeaders(NotesViews(BoardPage(whole=True)), secure=secure)
    headers = security_headers(secure=secure)
    app.state.board_first = BoardFirst(page, headers, noted=note_look)
    app.state.store = store
    app.state.views = Views(store)
    app.state.token_uses = TokenUses(store)
    app.state.clock = clock
    app.state.board_key = BoardKey(read_key(settings))
    store.vault = Vault(app.state.board_key.part("vault"))
    app.state.provider = _provider(settings)
    app.state.policies = load_policies(settings.policies)
    app.state.feed = feed
    app.state.bell = Bell(store.engines.reading, feed.hear)
    app.state.streams = Streams(feed, now=clock)
    app.state.plan_runs = PlanRuns()
    app.state.pace = Pace(settings.api_per_second)
    app.state.rights_changed = lambda: signed_in_of(app).forget_all()


def _provider(settings: Settings) -> Any:
    """The provider of sign-ins, None where none is set."""
    try:
        return None if settings.sign_on is None else open_provider(settings.sign_on)
    except LibraryMissing as missing:
        message = f"single sign-on needs the extra sso: pip install 'fourth-hour[sso]' ({missing})"
        raise SettingsError(f"FOURTH_HOUR_SSO_ISSUER: {message}") from missing


def _lifespan(*, run_jobs: bool, keep_boards: bool, own_store: bool) -> Any:
    @asynccontextmanager
    async def live(app: FastAPI) -> AsyncIterator[None]:
        await asyncio.to_thread(_prepare, app)
        app.state.streams.open(asyncio.get_running_loop())
        app.state.feed.start()
        app.state.bell.start()
        keeper, jobs = Keeper(app), jobs_of(app.state.settings)
        if keep_boards:
            keeper.start()
        scheduler = Scheduler(app.state.store, app.state.clock, jobs) if run_jobs else None
        presence = Presence(app.state.store, app.state.settings, app.state.clock)
        if scheduler is not None:
            presence.runs = scheduler.runs
            scheduler.start()
        if keep_boards:
            presence.start()
        yield
        await asyncio.to_thread(_stop, app, scheduler, keeper, presence)
        if own_store:
            app.state.store.close()

    return live


def _prepare(app: FastAPI) -> None:
    """Bring the database to the newest schema, and wards to the newest text of their policy."""
    store: Store = app.state.store
    upgrade_database(store, now=app.state.clock())
    seal_secrets(store)
    with store.write() as session:
        bring_up_to_date(session, app.state.policies, now=app.state.clock())
    store.on_commit(app.state.feed.hear)


def jobs_of(settings: Settings) -> tuple[Job, ...]:
    """The jobs of every board, and those that settings have a say in."""
    jobs = (*JOBS, invariants_job(Patience(settings.stale_after)))
    if settings.sheets is None:
        return jobs
    return (*jobs, Job("sheets", EVERY, SheetWriter(settings.sheets)))


def _stop(app: FastAPI, scheduler: Scheduler | None, keeper: Keeper, presence: Presence) -> None:
    presence.stop(is_away=app.state.feed.away)
    if scheduler is not None:
        scheduler.stop()
    keeper.stop()
    app.state.plan_runs.close()
    app.state.streams.close()
    app.state.bell.stop()
    app.state.feed.stop()
    app.state.views.write()


class BoardServer(uvicorn.Server):
    """A server that ends open streams as soon as it is told to stop, and so stops at once."""

    def __init__(self, app: FastAPI, *, host: str, port: int) -> None:
        super().__init__(
            uvicorn.Config(
                app,
                host=host,
                port=port,
                # Told by our own entrance: addresses hold the secrets of wall links.
                access_log=False,
                # Told like everything else, by `start_log`.
                log_config=None,
                server_header=False,
                # Believed by our own entrance, which has to know who sent a request first.
                proxy_headers=False,
                timeout_graceful_shutdown=GRACE_SECONDS,
            )
        )
        self._streams: Streams = app.state.streams

    async def startup(self, sockets: list[socket] | None = None) -> None:
        """Start, and take everything that was loaded out of the collector's rounds."""
        await super().startup(sockets)
        drop_who_takes_nothing(one for server in self.servers for one in server.sockets)
        gc.collect()
        gc.freeze()
        gc.set_threshold(*COLLECT_AFTER)
        sys.setswitchinterval(SWITCH_SECONDS)

    def handle_exit(self, sig: int, frame: FrameType | None) -> None:
        """Called on SIGTERM and SIGINT."""
        self._streams.close()
        super().handle_exit(sig, frame)


def serve(settings: Settings, store: Store | None = None, clock: Clock = utc_now) -> None:
    """Serve the board until the process is told to stop; without `store` it opens its own."""
    start_log(settings.log_form, settings.log_level)
    app = create_app(settings, store, run_jobs=settings.run_jobs, keep_boards=True, clock=clock)
    BoardServer(app, host=settings.host, port=settings.port).run()
