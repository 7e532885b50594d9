"""The code after the password: shown, or set up on the spot where the board asks for one."""

from typing import Annotated, Final

from fastapi import APIRouter, Query, Request, Response
from starlette.concurrency import run_in_threadpool

from server.pages.answers import PageRoute, done, to_sign_in
from server.pages.devices import device_of, visit_of
from server.pages.forms.entry import MISSING, Entry, Wrong
from server.pages.half_way import CODE, drop_half, half_way, is_required_of
from server.pages.links import SIGN_IN, local_path
from server.pages.page_head import page_head
from server.pages.qr_view import qr_view
from server.pages.recognising import count_try, say_when
from server.pages.refusals import FORM, NOT_OURS, REFUSALS, wrong_of
from server.pages.rendering import page
from server.pages.sign_in import entered, open_here
from server.pages.visitors import FormNotOurs, Typed, form_token, now_of, require_token
from server.pages.ward_setting import UTC_ZONE
from server.services.half_sign_in import Half, Wanted, end_half, use_code, wanted_after_password
from server.services.one_time_codes import address_for_apps, in_groups
from server.services.second_factor import confirm_second_factor, read_factor
from server.services.shown import shows_no_patient
from server.services.sign_in import actor_of
from server.services.try_sign_in import Claim, end_try, note_failure
from server.store.staff import Staff

router = APIRouter(route_class=PageRoute, include_in_schema=False)

WRONG: Final = {
    "code": "does not fit, or was used already; expected the six digits that the app shows next",
    "recovery": "does not fit, or was used already; expected one of yours, 24 letters and digits",
}
BESIDE: Final = "code"


@router.get(CODE)
@shows_no_patient
def see_code(request: Request, next_path: Annotated[str, Query(alias="next")] = "") -> Response:
    """Where the code is typed by whoever was recognised a moment ago."""
    _, half = half_way(request)
    if half is None:
        return to_sign_in(request, local_path(next_path))
    return _page(request, half.staff, Entry({"next": [next_path]}), Wrong({}, status=200))


@router.post(CODE)
async def enter_code(request: Request, typed: Typed) -> Response:
    """Sign in whoever shows a fresh code, of the app or for recovery."""
    return await run_in_threadpool(_try, request, typed)


def _try(request: Request, typed: Entry) -> Response:
    secret, half = half_way(request)
    if half is None:
        return to_sign_in(request, local_path(typed.raw("next")))
    try:
        require_token(typed, visit_of(request))
        return _enter(request, typed, half, secret)
    except FormNotOurs:
        return _page(request, half.staff, typed, Wrong({FORM: NOT_OURS}, status=403))
    except REFUSALS as refusal:
        wrong = wrong_of(refusal)
        return say_when(_page(request, half.staff, typed, wrong), wrong)


def _enter(request: Request, typed: Entry, half: Half, secret: str) -> Response:
    field = "recovery" if "recovery" in typed else "code"
    href, code, staff = local_path(typed.raw("next")) or "/", typed.raw(field), half.staff
    if not code.strip():
        raise Wrong({field: MISSING})
    answer: Response = done(href)
    if _wanted(request, staff) is Wanted.SET_UP:
        answer = _set_up(request, staff, secret, code, href)
    elif not _shows(request, staff, secret, code):
        raise Wrong({field: WRONG[field]})
    drop_half(request, answer)
    return entered(request, answer, open_here(request, half))


def _shows(request: Request, staff: Staff, secret: str, code: str) -> bool:
    """Count the try, then use the code up; False unless it fits. Raises `Waits`."""
    store, key, now = request.app.state.store, request.app.state.board_key, now_of(request)
    claim = Claim(staff.id, "", device_of(request), beside=BESIDE)
    count_try(request, claim)
    with store.write() as session:
        fits = use_code(session, staff, code, now=now)
        if fits:
            end_try(session, key, claim, now=now)
            end_half(session, secret)
        else:
            note_failure(session, claim, now=now)
    return fits


def _set_up(request: Request, staff: Staff, secret: str, code: str, href: str) -> Response:
    with request.app.state.store.write() as session:
        codes = confirm_second_factor(session, actor_of(staff), code, now=now_of(request))
        end_half(session, secret)
    return page(
        "sign_in/recovery_codes.html",
        head=page_head(now_of(request), UTC_ZONE),
        codes=[in_groups(one) for one in codes],
        onward_href=href,
    )


def _wanted(request: Request, staff: Staff) -> Wanted:
    required = is_required_of(request.app, staff.role)
    with request.app.state.store.read() as session:
        return wanted_after_password(session, staff, required=required)


def _page(request: Request, staff: Staff, typed: Entry, wrong: Wrong) -> Response:
    sets_up = ""
    if _wanted(request, staff) is Wanted.SET_UP:
        with request.app.state.store.read() as session:
            sets_up = read_factor(session, staff.id, now=now_of(request)).begun
    return page(
        "sign_in/code.html",
        status=wrong.status,
        head=page_head(now_of(request), UTC_ZONE),
        person=staff.name,
        qr=qr_view(address_for_apps(sets_up, staff.sign_in_name or "")) if sets_up else None,
        secret=in_groups(sets_up),
        recovery=typed.raw("recovery"),
        next=local_path(typed.raw("next")),
        errors=wrong.errors,
        csrf_token=form_token(visit_of(request)),
        action=CODE,
        sign_in_href=SIGN_IN,
    )
