"""Sign in by name and password, and sign out."""

from collections import deque
from secrets import token_urlsafe
from time import monotonic
from typing import Annotated, Any, Final

from fastapi import APIRouter, Query, Request, Response
from fastapi.responses import HTMLResponse
from starlette.concurrency import run_in_threadpool

from server.pages.answers import PageRoute, done
from server.pages.forms.entry import Entry, Wrong
from server.pages.links import SIGN_IN, SIGN_OUT, local_path
from server.pages.page_head import page_head
from server.pages.refusals import FORM, NOT_OURS
from server.pages.rendering import page
from server.pages.visitors import (
    COOKIE,
    VISIT_COOKIE,
    FormNotOurs,
    Typed,
    form_token,
    now_of,
    require_token,
    signed_in_of,
)
from server.pages.ward_setting import UTC_ZONE
from server.services.shown import shows_no_patient
from server.services.sign_in import check_password, note_failed_sign_in, sign_in, sign_out
from server.store.staff import Staff

router = APIRouter(route_class=PageRoute, include_in_schema=False)

TRIES: Final = 10
PER_SECONDS: Final = 60.0
WRONG: Final = "Name or password is wrong."
TOO_OFTEN: Final = "Too many tries from here. Wait a minute, then try again."


class Tries:
    """Failed tries by where they come from: slows guessing down and locks nobody out.

    A place that has failed often waits; a name never does, so that nobody can be kept from
    signing in elsewhere.
    """

    def __init__(self) -> None:
        self._failed: dict[str, deque[float]] = {}

    def may_try(self, place: str) -> bool:
        """Whether a place may try now."""
        failed = self._failed.get(place, ())
        return sum(at > monotonic() - PER_SECONDS for at in failed) < TRIES

    def failed(self, place: str) -> None:
        """Take note of a failed try."""
        if len(self._failed) > 10 * PER_SECONDS:
            self._failed.clear()
        self._failed.setdefault(place, deque(maxlen=TRIES)).append(monotonic())


@router.get(SIGN_IN)
@shows_no_patient
def see_sign_in(request: Request, next_path: Annotated[str, Query(alias="next")] = "") -> Response:
    """The page to sign in on."""
    return _page(request, Entry({"next": [next_path]}), {}, 200)


@router.post(SIGN_IN)
async def enter(request: Request, typed: Typed) -> Response:
    """Sign in; the same words for a wrong name and a wrong password."""
    try:
        return await run_in_threadpool(_enter, request, typed)
    except FormNotOurs:
        return _page(request, typed, {FORM: NOT_OURS}, 403)
    except Wrong as wrong:
        return _page(request, typed, wrong.errors, wrong.status)


@router.post(SIGN_OUT)
def leave(request: Request, typed: Typed) -> Response:
    """Sign out; the session is over at once."""
    secret = request.cookies.get(COOKIE, "")
    if secret:
        require_token(typed, secret)
        with request.app.state.store.write() as session:
            sign_out(session, secret, now=now_of(request))
        signed_in_of(request.app).forget(secret)
    answer = done(SIGN_IN)
    answer.delete_cookie(COOKIE, **_cookie_rules(request))
    return answer


def _enter(request: Request, typed: Entry) -> Response:
    require_token(typed, request.cookies.get(VISIT_COOKIE, ""))
    secret, expires_in = _open(request, staff_signing(request, typed))
    answer = done(local_path(typed.raw("next")) or "/")
    answer.set_cookie(COOKIE, secret, max_age=expires_in, **_cookie_rules(request))
    return answer


def staff_signing(request: Request, typed: Entry) -> Staff:
    """Answer whose name and password were typed. Raises `Wrong`, also after too many tries."""
    name, password = typed.text("sign_in_name", required=True), typed.raw("password")
    if not password:
        typed.refuse("password", "nothing was entered; this is needed")
    typed.check()
    tries, place = _tries(request.app), _place(request)
    if not tries.may_try(place):
        raise Wrong({FORM: TOO_OFTEN}, status=429)
    with request.app.state.store.read() as session:
        staff = check_password(session, name or "", password)
    if staff is None:
        tries.failed(place)
        with request.app.state.store.write() as session:
            note_failed_sign_in(session, name or "", now=now_of(request))
        raise Wrong({FORM: WRONG}, status=422)
    return staff


def _open(request: Request, staff: Staff) -> tuple[str, int]:
    """Open a session; the secret, and how many seconds it lives."""
    state = request.app.state
    length = state.settings.session_length
    with state.store.write() as session:
        opened = sign_in(session, staff, now=now_of(request), length=length)
    return opened.secret, int(length.total_seconds())


def _page(request: Request, typed: Entry, errors: dict[str, str], status: int) -> HTMLResponse:
    visit = request.cookies.get(VISIT_COOKIE) or token_urlsafe(24)
    answer = page(
        "sign_in/sign_in.html",
        status=status,
        head=page_head(now_of(request), UTC_ZONE),
        sign_in_name=typed.raw("sign_in_name"),
        next=local_path(typed.raw("next")),
        errors={**typed.errors, **errors},
        csrf_token=form_token(visit),
        action=SIGN_IN,
    )
    answer.set_cookie(VISIT_COOKIE, visit, **_cookie_rules(request))
    return answer


def _cookie_rules(request: Request) -> dict[str, Any]:
    secure = request.app.state.settings.secure_cookies
    return {"path": "/", "httponly": True, "samesite": "lax", "secure": secure}


def _tries(app: Any) -> Tries:
    known: Tries | None = getattr(app.state, "sign_in_tries", None)
    if known is None:
        known = app.state.sign_in_tries = Tries()
    return known


def _place(request: Request) -> str:
    return request.client.host if request.client is not None else ""
