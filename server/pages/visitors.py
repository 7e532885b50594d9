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
from server.services.lock_session import is_worth_noting, lock, note_act
from server.services.shown import ASKED_BY
from server.services.sign_in import Holder, holder_of_session

COOKIE: Final = "fourth_hour_session"
VISIT_COOKIE: Final = "fourth_hour_visit"
KEPT_SECONDS: Final = 3.0
MOST_KEPT: Final = 4_096


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

    After `lock_seconds` without an act their screen is locked; 0: never.
    """

    actor: Actor
    secret: str
    csrf_token: str
    lock_seconds: int = 0


class SignedIn:
    """Who is signed in, remembered for a few seconds, so that a board costs no query."""

    def __init__(self) -> None:
        self._kept: dict[str, tuple[float, Holder]] = {}

    def remembered(self, secret: str, now: datetime) -> Holder | None:
        """The unlocked session of a cookie that was looked up a moment ago."""
        kept = self._kept.get(secret)
        if kept is None or kept[0] <= monotonic():
            return None
        holder = kept[1]
        return holder if holder.locks_at is None or now < holder.locks_at else None

    def look_up(self, app: Any, secret: str, now: datetime) -> Holder | None:
        """The session of a cookie, asked of the database; one that was left too long is locked."""
        lock_after = app.state.settings.lock_after
        with app.state.store.read() as session:
            holder = holder_of_session(session, secret, now=now, lock_after=lock_after)
        if holder is not None and not holder.locked:
            self._keep(secret, holder)
        elif holder is not None and holder.session.locked_at is None:
            with app.state.store.write() as session:
                lock(session, secret, now=now)
        return holder

    def find(self, app: Any, secret: str, now: datetime) -> Holder | None:
        """The session of a cookie, locked or not; None if it is over."""
        return self.remembered(secret, now) or self.look_up(app, secret, now)

    def act(self, app: Any, secret: str, holder: Holder, now: datetime) -> None:
        """Take note that somebody did something: it keeps their screen from locking."""
        if not is_worth_noting(holder, now=now):
            return
        with app.state.store.write() as session:
            note_act(session, secret, now=now)
        self.look_up(app, secret, now)

    def forget(self, secret: str) -> None:
        """Forget a session that has ended or is locked."""
        self._kept.pop(secret, None)

    def forget_all(self) -> None:
        """Forget everybody: somebody's role or wards have changed."""
        self._kept.clear()

    def _keep(self, secret: str, holder: Holder) -> None:
        if len(self._kept) >= MOST_KEPT:
            self._kept.clear()
        self._kept[secret] = (monotonic() + KEPT_SECONDS, holder)


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
    """Answer who looks at the page. Raises `SignInNeeded`, `Locked`."""
    secret, holder = held(request)
    if holder is None:
        raise SignInNeeded(_wanted(request))
    if holder.locked:
        raise Locked(_wanted(request))
    request.scope[ASKED_BY] = holder.actor
    if _is_act(request):
        signed_in_of(request.app).act(request.app, secret, holder, now_of(request))
    return visitor_of(request.app, holder, secret)


def visitor_of(app: Any, holder: Holder, secret: str) -> Visitor:
    """Answer the person of an unlocked session."""
    lock_seconds = int(app.state.settings.lock_after.total_seconds())
    return Visitor(holder.actor, secret, form_token(secret), lock_seconds)


def held(request: Request) -> tuple[str, Holder | None]:
    """Answer the cookie of a request and the session behind it, locked or not."""
    secret = request.cookies.get(COOKIE, "")
    known = signed_in_of(request.app)
    return secret, known.find(request.app, secret, now_of(request)) if secret else None


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
Typed = Annotated[Entry, Depends(typed_entry)]
