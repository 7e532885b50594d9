"""Who looks at a page: the person of the session cookie, and the token of that person's forms."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from hashlib import sha256
from hmac import compare_digest
from hmac import digest as keyed_digest
from time import monotonic
from typing import Annotated, Any, Final
from urllib.parse import urlsplit

from fastapi import Depends, Request

from server.clock import utc_now
from server.pages.forms.entry import Entry
from server.services.actor import Actor
from server.services.sign_in import actor_of_session

COOKIE: Final = "fourth_hour_session"
VISIT_COOKIE: Final = "fourth_hour_visit"
KEPT_SECONDS: Final = 3.0
MOST_KEPT: Final = 4_096


class SignInNeeded(Exception):
    """Nobody is signed in, or the session is over; `path` is where the person wanted to go."""

    def __init__(self, path: str) -> None:
        super().__init__("sign in")
        self.path = path


class FormNotOurs(Exception):
    """The form does not carry the token of the session it was sent in."""


@dataclass(frozen=True, slots=True)
class Visitor:
    """A person who is signed in. `secret` is the cookie; `csrf_token` goes into every form."""

    actor: Actor
    secret: str
    csrf_token: str


class SignedIn:
    """Who is signed in, remembered for a few seconds, so that a board costs no query."""

    def __init__(self) -> None:
        self._kept: dict[str, tuple[float, Actor]] = {}

    def remembered(self, secret: str) -> Actor | None:
        """The person of a cookie that was looked up a moment ago."""
        kept = self._kept.get(secret)
        return kept[1] if kept is not None and kept[0] > monotonic() else None

    def look_up(self, store: Any, secret: str, now: datetime) -> Actor | None:
        """The person of a cookie, asked of the database."""
        with store.read() as session:
            actor = actor_of_session(session, secret, now=now)
        if len(self._kept) >= MOST_KEPT:
            self._kept.clear()
        if actor is not None:
            self._kept[secret] = (monotonic() + KEPT_SECONDS, actor)
        return actor

    def find(self, store: Any, secret: str, now: datetime) -> Actor | None:
        """The person of a cookie, None if it stands for nobody any more."""
        return self.remembered(secret) or self.look_up(store, secret, now)

    def forget(self, secret: str) -> None:
        """Forget a session that has ended."""
        self._kept.pop(secret, None)

    def forget_all(self) -> None:
        """Forget everybody: somebody's role or wards have changed."""
        self._kept.clear()


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
    """Answer who looks at the page. Raises `SignInNeeded`."""
    secret = request.cookies.get(COOKIE, "")
    app = request.app
    actor = signed_in_of(app).find(app.state.store, secret, now_of(request)) if secret else None
    if actor is None:
        raise SignInNeeded(_wanted(request))
    return Visitor(actor, secret, form_token(secret))


async def typed_entry(request: Request) -> Entry:
    """Answer what was typed into the form that was sent; files are not looked at."""
    form = await request.form()
    values: dict[str, list[str]] = {}
    for name, value in form.multi_items():
        if isinstance(value, str):
            values.setdefault(name, []).append(value)
    return Entry(values)


def require_token(entry: Entry, secret: str) -> None:
    """Raise `FormNotOurs` unless the form carries the token that belongs to `secret`."""
    said = entry.raw("csrf_token").encode()
    if not secret or not compare_digest(said, form_token(secret).encode()):
        raise FormNotOurs


def _wanted(request: Request) -> str:
    if request.method != "GET":
        return urlsplit(request.headers.get("referer", "")).path
    query = f"?{request.url.query}" if request.url.query else ""
    return f"{request.url.path}{query}"


See = Annotated[Visitor, Depends(visitor)]
Typed = Annotated[Entry, Depends(typed_entry)]
