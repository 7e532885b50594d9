"""Who looks at a page: the person of the session cookie, and the token of that person's forms."""

from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime, timedelta
from hashlib import sha256
from hmac import compare_digest
from hmac import digest as keyed_digest
from typing import Annotated, Any, Final
from urllib.parse import urlsplit

from fastapi import Depends, Request

from server.clock import utc_now
from server.pages.cookies import read_cookie
from server.pages.forms.entry import Entry
from server.pages.signed_in import SignedIn
from server.services.actor import Actor
from server.services.shown import ASKED_BY
from server.services.sign_in import Holder
from server.store.errors import Away

COOKIE: Final = "fourth_hour_session"
VISIT_COOKIE: Final = "fourth_hour_visit"


class SignInNeeded(Exception):
    """Nobody is signed in, or the session is over; `path` is where the person wanted to go."""

    def __init__(self, path: str) -> None:
        super().__init__("sign in")
        self.path = path


class Locked(Exception):
    """The screen is locked until the same person unlocks it; `path` is where they wanted to go."""

    def __init__(self, path: str) -> None:
        super().__init__("locked")
        self.path = path


class FormNotOurs(Exception):
    """The form does not carry the token of the session it was sent in."""


@dataclass(frozen=True, slots=True)
class Visitor:
    """A person who is signed in. `secret` is the cookie; `csrf_token` goes into every form.

    After `lock_seconds` without an act their screen is locked; 0: never. The board calls itself
    stale `stale_after` the last tick.
    """

    actor: Actor
    secret: str
    csrf_token: str
    lock_seconds: int = 0
    stale_after: timedelta = timedelta(seconds=10)


def now_of(request: Request) -> datetime:
    """The present instant as the application tells it."""
    clock: Callable[[], datetime] = getattr(request.app.state, "clock", utc_now)
    return clock()


def signed_in_of(app: Any) -> SignedIn:
    """The sessions that an application remembers."""
    known = getattr(app.state, "signed_in", None)
    if known is None:
        known = app.state.signed_in = SignedIn()
    return known


def form_token(secret: str) -> str:
    """Answer the token of the forms of a session; it does not give the session away."""
    return keyed_digest(secret.encode(), b"form", sha256).hex()


def visitor(request: Request) -> Visitor:
    """Answer who looks at the page. Raises `SignInNeeded`, `Locked`, `Away`."""
    if request.app.state.feed.away and request.method == "GET" and is_fetched(request):
        # Pages ask again by themselves: all of them waiting would leave no thread for the boards.
        raise Away("it was when it was last asked")
    secret, holder = held(request)
    if holder is None:
        raise SignInNeeded(_wanted(request))
    if holder.locked:
        raise Locked(_wanted(request))
    request.scope[ASKED_BY] = holder.actor
    if _is_act(request):
        signed_in_of(request.app).act(request.app, secret, holder, now_of(request))
    return visitor_of(request.app, holder, secret)


def looking(request: Request) -> Visitor:
    """Answer who looks at the page, also while the database is away, for what is known without it.

    Raises `SignInNeeded`, `Locked`; `Away` where the person is not known here.
    """
    app, now = request.app, now_of(request)
    with suppress(Away):
        if not app.state.feed.away:
            return visitor(request)
    secret, known = read_cookie(request, COOKIE), signed_in_of(app)
    holder = known.find_or_last_known(app, secret, now) if secret else None
    if holder is None:
        raise SignInNeeded(_wanted(request))
    request.scope[ASKED_BY] = holder.actor
    if _is_act(request):
        known.act_unwritten(app, secret, holder, now)
    return visitor_of(app, holder, secret)


def visitor_of(app: Any, holder: Holder, secret: str) -> Visitor:
    """Answer the person of an unlocked session."""
    settings = app.state.settings
    lock_seconds = int(settings.lock_after.total_seconds())
    return Visitor(holder.actor, secret, form_token(secret), lock_seconds, settings.stale_after)


def held(request: Request) -> tuple[str, Holder | None]:
    """Answer the cookie of a request and the session behind it, locked or not."""
    secret = read_cookie(request, COOKIE)
    known = signed_in_of(request.app)
    return secret, known.find(request.app, secret, now_of(request)) if secret else None


async def typed_entry(request: Request) -> Entry:
    """Answer what was typed into the form that was sent; files are not looked at."""
    values: dict[str, list[str]] = {}
    async with request.form() as form:
        for name, value in form.multi_items():
            if isinstance(value, str):
                values.setdefault(name, []).append(value)
    return Entry(values)


def require_token(entry: Entry, secret: str) -> None:
    """Raise `FormNotOurs` unless the form carries the token that belongs to `secret`."""
    said = entry.raw("csrf_token").encode()
    if not secret or not compare_digest(said, form_token(secret).encode()):
        raise FormNotOurs


def _is_act(request: Request) -> bool:
    """Whether a person did something: sent a form, or opened a page.

    What a page fetches by itself, every few seconds or as it changes, is nobody's act.
    """
    return request.method != "GET" or not is_fetched(request)


def is_fetched(request: Request) -> bool:
    """Whether a page that stands asks for it, so that the answer takes no page's place."""
    by_script = request.headers.get("sec-fetch-mode", "navigate") != "navigate"
    return by_script or "hx-request" in request.headers


def _wanted(request: Request) -> str:
    if request.method != "GET":
        return urlsplit(request.headers.get("referer", "")).path
    query = f"?{request.url.query}" if request.url.query else ""
    return f"{request.url.path}{query}"


See = Annotated[Visitor, Depends(visitor)]
Looking = Annotated[Visitor, Depends(looking)]
Typed = Annotated[Entry, Depends(typed_entry)]
