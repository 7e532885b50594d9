"""Sign in by badge and PIN or by name and password, change the person, and sign out."""

from typing import Annotated, Final

from fastapi import APIRouter, Query, Request, Response
from fastapi.responses import HTMLResponse, JSONResponse
from starlette.concurrency import run_in_threadpool

from server.pages.answers import PageRoute, done
from server.pages.cookies import read_cookie
from server.pages.devices import (
    device_of,
    device_words,
    drop_session,
    keep_session,
    keep_visit,
    visit_of,
    visit_or_new,
)
from server.pages.forms.entry import Entry, Wrong
from server.pages.half_way import ask_for_code
from server.pages.links import SIGN_IN, SIGN_OUT, local_path
from server.pages.page_head import page_head
from server.pages.recognising import say_when, shows_badge, staff_signing
from server.pages.refusals import FORM, NOT_OURS
from server.pages.rendering import page
from server.pages.sso_onward import onward_after, way_of
from server.pages.visitors import (
    COOKIE,
    FormNotOurs,
    Typed,
    form_token,
    held,
    is_fetched,
    now_of,
    require_token,
    signed_in_of,
)
from server.pages.ward_setting import UTC_ZONE
from server.services.half_sign_in import Half
from server.services.lock_session import unlock
from server.services.shown import shows_no_patient
from server.services.sign_in import sign_out
from server.services.sso_sign_in import Place, id_token_behind, sign_on
from server.services.try_sign_in import know_device
from server.store.staff import Staff

router = APIRouter(route_class=PageRoute, include_in_schema=False)

KEPT: Final = {"Cache-Control": "no-store"}


@router.get(SIGN_IN)
@shows_no_patient
def see_sign_in(request: Request, next_path: Annotated[str, Query(alias="next")] = "") -> Response:
    """The page to sign in on."""
    return sign_in_page(request, Entry({"next": [next_path]}), Wrong({}, status=200))


@router.post(SIGN_IN)
@router.post(f"{SIGN_IN}/badge")
async def enter(request: Request, typed: Typed) -> Response:
    """Sign in, in place of whoever is; the same words for a wrong name and a wrong password."""
    try:
        return await run_in_threadpool(_enter, request, typed)
    except FormNotOurs:
        return _refused(request, typed, Wrong({FORM: NOT_OURS}, status=403))
    except Wrong as wrong:
        return _refused(request, typed, wrong)


@router.post(SIGN_OUT)
async def leave(request: Request, typed: Typed) -> Response:
    """Sign out; the session is over at once, and where it came from a provider, it is told."""
    id_token = await run_in_threadpool(_leave, request, typed)
    answer = await onward_after(request, id_token) or done(SIGN_IN)
    drop_session(request, answer)
    return answer


def _leave(request: Request, typed: Entry) -> str:
    """End the session, and answer by what its person is signed out at the provider, or nothing."""
    secret = read_cookie(request, COOKIE)
    if not secret:
        return ""
    require_token(typed, secret)
    # First: where the database is away it is shown nothing more, and locked afterwards.
    signed_in_of(request.app).close(secret)
    with request.app.state.store.write() as session:
        id_token = id_token_behind(session, secret)
        sign_out(session, secret, now=now_of(request))
    signed_in_of(request.app).forget(secret)
    return id_token


def _enter(request: Request, typed: Entry) -> Response:
    require_own_form(request, typed)
    staff, href = staff_signing(request, typed), local_path(typed.raw("next")) or "/"
    renewed = _renewed(request, staff) if is_fetched(request) else None
    if renewed:
        return entered(request, JSONResponse({"token": form_token(renewed)}, headers=KEPT), renewed)
    asked = None if shows_badge(typed) else ask_for_code(request, Half(staff), href)
    if asked is not None:
        return asked
    answer = JSONResponse({"href": href}, headers=KEPT) if is_fetched(request) else done(href)
    return entered(request, answer, open_here(request, Half(staff)))


def entered(request: Request, answer: Response, secret: str) -> Response:
    """Have the browser of somebody who was let in keep the secret of their session."""
    length = int(request.app.state.settings.session_length.total_seconds())
    keep_session(request, answer, secret, length)
    keep_visit(request, answer, visit_or_new(request))
    return answer


def _renewed(request: Request, staff: Staff) -> str | None:
    """The new secret of somebody who shows their own badge: their page stays, unlocked.

    None where somebody else, or nobody, is signed in here.
    """
    secret, holder = held(request)
    if holder is None or holder.actor.id != staff.id:
        return None
    with request.app.state.store.write() as session:
        renewed = unlock(session, secret, now=now_of(request))
    signed_in_of(request.app).forget(secret)
    return renewed


def require_own_form(request: Request, typed: Entry) -> None:
    """Raise `FormNotOurs` unless a form is of the sign-in page, or of whoever is signed in here."""
    try:
        require_token(typed, visit_of(request))
    except FormNotOurs:
        require_token(typed, read_cookie(request, COOKIE))


def open_here(request: Request, known: Half) -> str:
    """Open a session in place of the one on this device, for whoever lacks nothing; its secret."""
    state, left, now = request.app.state, read_cookie(request, COOKIE), now_of(request)
    place = Place(left, device_words(request), state.settings.session_length)
    with state.store.write() as session:
        opened = sign_on(session, known, place, now=now)
        know_device(session, state.board_key, device_of(request), known.staff.id, now=now)
    signed_in_of(request.app).forget(left)
    return opened.secret


def _refused(request: Request, typed: Entry, wrong: Wrong) -> Response:
    """Why nobody was signed in: on the page, or to the dialog that asked."""
    if not is_fetched(request):
        return say_when(sign_in_page(request, typed, wrong), wrong)
    said = {"why": " ".join(wrong.errors.values()), "fields": sorted(wrong.errors)}
    return say_when(JSONResponse(said, wrong.status, KEPT), wrong)


def sign_in_page(request: Request, typed: Entry, wrong: Wrong) -> HTMLResponse:
    """Answer the page to sign in on, with why nobody was let in."""
    visit = visit_or_new(request)
    answer = page(
        "sign_in/sign_in.html",
        status=wrong.status,
        head=page_head(now_of(request), UTC_ZONE),
        sign_in_name=typed.raw("sign_in_name"),
        badge=typed.raw("badge"),
        next=local_path(typed.raw("next")),
        errors={**typed.errors, **wrong.errors},
        csrf_token=form_token(visit),
        action=SIGN_IN,
        way=way_of(request.app),
    )
    keep_visit(request, answer, visit)
    return answer
