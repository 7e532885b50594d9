"""Lock the screen, cover it, and unlock it for the same person with everything still in place."""

from typing import Annotated, Final
from urllib.parse import urlsplit

from fastapi import APIRouter, Query, Request, Response
from fastapi.responses import JSONResponse
from starlette.concurrency import run_in_threadpool

from server.pages.answers import PageRoute, done, to_locked, to_sign_in
from server.pages.cookies import read_cookie
from server.pages.devices import keep_session
from server.pages.forms.entry import Entry, Wrong
from server.pages.links import LOCKED, SIGN_IN, local_path
from server.pages.page_head import page_head
from server.pages.recognising import require_again, say_when
from server.pages.refusals import FORM, NOT_OURS
from server.pages.rendering import page
from server.pages.sso_onward import way_of
from server.pages.visitors import (
    COOKIE,
    FormNotOurs,
    Looking,
    SignInNeeded,
    Typed,
    form_token,
    held,
    is_fetched,
    now_of,
    require_token,
    signed_in_of,
)
from server.pages.ward_setting import ROLE, UTC_ZONE
from server.services.keep_unsent import drop_unsent
from server.services.lock_session import lock, unlock
from server.services.shown import shows_no_patient
from server.services.sign_in import Holder

router = APIRouter(route_class=PageRoute, include_in_schema=False)

KEPT: Final = {"Cache-Control": "no-store"}
ENDED: Final = "Your sign-in has ended. Sign in again."
Next = Annotated[str, Query(alias="next")]


@router.get("/who")
@shows_no_patient
def see_who(request: Request) -> Response:
    """Who is signed in on this device, for pages that stand open while that changes."""
    secret, holder = held(request)
    if holder is None:
        return JSONResponse({"person": "", "locked": False, "token": ""}, headers=KEPT)
    said = {"person": holder.actor.id, "locked": holder.locked, "token": form_token(secret)}
    return JSONResponse(said, headers=KEPT)


@router.post("/act")
def act(looking: Looking, typed: Typed) -> Response:
    """Somebody is at the page, though it asks for nothing: that keeps it from locking."""
    require_token(typed, looking.secret)
    return Response(status_code=204, headers=KEPT)


@router.post("/lock")
def lock_screen(request: Request, typed: Typed) -> Response:
    """Lock the screen at once."""
    secret = read_cookie(request, COOKIE)
    require_token(typed, secret)
    # First: where the database is away it is shown nothing more, and locked afterwards.
    signed_in_of(request.app).close(secret)
    with request.app.state.store.write() as session:
        lock(session, secret, now=now_of(request))
    signed_in_of(request.app).forget(secret)
    if is_fetched(request):
        return Response(status_code=204, headers=KEPT)
    came_from = urlsplit(request.headers.get("referer", "")).path
    return to_locked(request, local_path(came_from))


@router.get(LOCKED)
@shows_no_patient
def see_locked(request: Request, next_path: Next = "") -> Response:
    """Where a page without scripts is unlocked, and returns to where it was."""
    secret, holder = held(request)
    if holder is None:
        raise SignInNeeded(local_path(next_path))
    if not holder.locked:
        return done(local_path(next_path) or "/")
    return _page(request, secret, holder, Entry({"next": [next_path]}), Wrong({}, status=200))


@router.post("/unlock")
async def unlock_screen(request: Request, typed: Typed) -> Response:
    """Unlock for the same person, by PIN or password; the session has another secret from now."""
    return await run_in_threadpool(_try, request, typed)


def _try(request: Request, typed: Entry) -> Response:
    secret, holder = held(request)
    if holder is None:
        return _ended(request, typed)
    try:
        require_token(typed, secret)
        require_again(request, holder.actor, typed)
        return _unlocked(request, typed, secret, holder)
    except FormNotOurs:
        return _refused(request, secret, holder, typed, Wrong({FORM: NOT_OURS}, status=403))
    except Wrong as wrong:
        return _refused(request, secret, holder, typed, wrong)


def _unlocked(request: Request, typed: Entry, secret: str, holder: Holder) -> Response:
    now, stays = now_of(request), local_path(typed.raw("stays"))
    with request.app.state.store.write() as session:
        renewed = unlock(session, secret, now=now)
        if stays:  # what was typed there is still on the page
            drop_unsent(session, holder.actor, stays)
    signed_in_of(request.app).forget(secret)
    if renewed is None:
        return _ended(request, typed)
    answer: Response = done(local_path(typed.raw("next")) or "/")
    if is_fetched(request):
        answer = JSONResponse({"token": form_token(renewed)}, headers=KEPT)
    seconds = int((holder.session.expires_at - now).total_seconds())
    keep_session(request, answer, renewed, seconds)
    return answer


def _refused(request: Request, secret: str, holder: Holder, typed: Entry, wrong: Wrong) -> Response:
    if not is_fetched(request):
        return say_when(_page(request, secret, holder, typed, wrong), wrong)
    said = {"why": " ".join(wrong.errors.values())}
    return say_when(JSONResponse(said, wrong.status, KEPT), wrong)


def _ended(request: Request, typed: Entry) -> Response:
    if is_fetched(request):
        return JSONResponse({"why": ENDED, "ended": True}, 401, KEPT)
    return to_sign_in(request, local_path(typed.raw("next")))


def _page(request: Request, secret: str, holder: Holder, typed: Entry, wrong: Wrong) -> Response:
    return page(
        "sign_in/locked.html",
        status=wrong.status,
        head=page_head(now_of(request), UTC_ZONE),
        person=holder.actor.name,
        role_text=ROLE[holder.actor.role],
        next=local_path(typed.raw("next")),
        errors=wrong.errors,
        csrf_token=form_token(secret),
        sign_in_href=SIGN_IN,
        way=way_of(request.app),
    )
