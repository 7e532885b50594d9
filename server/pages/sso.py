"""Sign in at the provider: go there, and come back recognised."""

import logging
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Final

from fastapi import APIRouter, Query, Request, Response
from starlette.concurrency import run_in_threadpool

from server.pages.answers import PageRoute, done, problem
from server.pages.devices import device_of, keep_visit, visit_of, visit_or_new
from server.pages.forms.entry import Entry, Wrong
from server.pages.half_way import ask_for_code
from server.pages.links import MY_SIGN_IN, SIGN_ON, SIGN_ON_BACK, local_path
from server.pages.refusals import FORM, NOT_OURS
from server.pages.sign_in import entered, open_here, require_own_form, sign_in_page
from server.pages.sso_onward import onward, provider_of
from server.pages.sso_words import REFUSALS, reason_of, words_for
from server.pages.visitors import FormNotOurs, Typed, held, now_of, signed_in_of
from server.services.errors import NotFound
from server.services.half_sign_in import Half
from server.services.shown import shows_no_patient
from server.services.sso_begun import (
    Errand,
    NotBegun,
    TooManyBegun,
    begin_sign_on,
    browser_of,
    require_pace,
    take_sign_on,
)
from server.services.sso_links import link_oneself
from server.services.sso_refusals import ProviderAway, ProviderRefused
from server.services.sso_sign_in import Recognised, note_refusal, recognised_staff
from server.store.sso import Browser

if TYPE_CHECKING:
    from server.services.sso_provider import Provider

router = APIRouter(route_class=PageRoute, include_in_schema=False)

GOING: Final = "If nothing happens, go on yourself."
OTHERWISE: Final = "You can sign in another way below."
_LOG: Final = logging.getLogger(__name__)
Said = Annotated[str, Query(max_length=4_096)]


@dataclass(frozen=True, slots=True)
class Answer:
    """What the provider sends a browser back with (RFC 6749, section 4.1.2; RFC 9207)."""

    state: str
    code: str
    error: str
    issuer: str


@router.post(SIGN_ON)
async def go(request: Request, typed: Typed) -> Response:
    """On to the provider, to be recognised there; what the form was on is returned to."""
    provider = require_provider(request)
    try:
        require_own_form(request, typed)
        return await go_from(request, provider, local_path(typed.raw("next")) or "/")
    except FormNotOurs:
        return sign_in_page(request, typed, Wrong({FORM: NOT_OURS}, status=403))
    except REFUSALS as refusal:
        return _refused(request, provider, typed, refusal)


async def go_from(
    request: Request, provider: "Provider", next_path: str, staff_id: str | None = None
) -> Response:
    """Answer the page that goes on to the provider; with `staff_id`, to link that person's account.

    Raises `TooManyBegun` and `ProviderAway`, before anything is stored.
    """
    visit = visit_or_new(request)
    browser = await run_in_threadpool(_require_pace, request, visit)
    await provider.greet()
    errand = await run_in_threadpool(_begin, request, visit, browser, next_path, staff_id)
    address = await provider.address_of(errand)
    answer = onward(request, address, f"On to {provider.sign_on.label}", GOING)
    keep_visit(request, answer, visit)
    return answer


@router.get(SIGN_ON_BACK)
@shows_no_patient
async def come_back(
    request: Request, state: Said = "", code: Said = "", error: Said = "", iss: Said = ""
) -> Response:
    """Back from the provider: signed in, or their account linked; otherwise why not."""
    provider, errand = require_provider(request), None
    try:
        errand = await run_in_threadpool(_take, request, state)
        recognised = await _recognised(request, provider, errand, Answer(state, code, error, iss))
        finish = _enter if errand.begun.staff_id is None else _link
        return await run_in_threadpool(finish, request, errand, recognised)
    except REFUSALS as refusal:
        if errand is None:
            return _refused(request, provider, Entry(), refusal)
        await run_in_threadpool(_note, request, reason_of(refusal))
        if errand.begun.staff_id is not None:
            return not_linked(request, provider, refusal)
        typed = Entry({"next": [errand.begun.next_path]})
        return _refused(request, provider, typed, refusal)


def _require_pace(request: Request, visit: str) -> Browser:
    state, now = request.app.state, now_of(request)
    with state.store.read() as session:
        browser = browser_of(session, state.board_key, visit, device_of(request))
        require_pace(session, browser, now=now)
    return browser


def _begin(
    request: Request, visit: str, browser: Browser, next_path: str, staff_id: str | None
) -> Errand:
    state, now = request.app.state, now_of(request)
    with state.store.write() as session:
        return begin_sign_on(
            session,
            state.board_key,
            visit,
            next_path,
            now=now,
            browser=browser,
            staff_id=staff_id,
        )


def require_provider(request: Request) -> "Provider":
    """Answer the provider that the board uses. Raises `NotFound` without one."""
    provider = provider_of(request.app)
    if provider is None:
        raise NotFound("single sign-on")
    return provider


def _take(request: Request, state_said: str) -> Errand:
    state, visit = request.app.state, visit_of(request)
    if not visit:
        raise NotBegun
    with state.store.write() as session:
        return take_sign_on(session, state.board_key, visit, state_said, now=now_of(request))


async def _recognised(
    request: Request, provider: "Provider", errand: Errand, answer: Answer
) -> Recognised:
    if answer.error or not answer.code:
        raise ProviderRefused(answer.error)
    return await provider.recognise(errand, answer.code, answer.issuer, now=now_of(request))


def _enter(request: Request, errand: Errand, recognised: Recognised) -> Response:
    """Open a session for whoever was recognised, in place of the one on this device.

    Where the provider is asked for no second factor, the board asks whoever has one for theirs.
    """
    state, href = request.app.state, errand.begun.next_path
    with state.store.write() as session:
        staff = recognised_staff(session, recognised.identity, now=now_of(request))
    known = Half(staff, recognised.id_token)
    is_enough = state.settings.sign_on.rules.ask_for_factors
    asked = None if is_enough else ask_for_code(request, known, href)
    return asked or entered(request, done(href), open_here(request, known))


def _link(request: Request, errand: Errand, recognised: Recognised) -> Response:
    """Link the account to whoever began this, if they are still the one who is signed in here."""
    _, holder = held(request)
    if holder is None or holder.locked or holder.actor.id != errand.begun.staff_id:
        raise NotBegun
    with request.app.state.store.write() as session:
        link_oneself(session, holder.actor, recognised.identity, now=now_of(request))
    signed_in_of(request.app).forget_all()
    return done(f"{MY_SIGN_IN}?done=linked")


def _note(request: Request, why: str) -> None:
    with request.app.state.store.write() as session:
        note_refusal(session, why, now=now_of(request))


def not_linked(request: Request, provider: "Provider", refusal: Exception) -> Response:
    """Why nothing was linked."""
    status, why = _why(provider, refusal)
    return _say_when(problem(request, status, "Not linked", why), refusal)


def _refused(request: Request, provider: "Provider", typed: Entry, refusal: Exception) -> Response:
    """Why nobody was let in, on the page with the other ways."""
    status, why = _why(provider, refusal)
    if isinstance(refusal, ProviderAway | ProviderRefused):
        why = f"{why} {OTHERWISE}"
    return _say_when(sign_in_page(request, typed, Wrong({FORM: why}, status=status)), refusal)


def _say_when(answer: Response, refusal: Exception) -> Response:
    """Tell a program as well when the button may be pressed again."""
    if isinstance(refusal, TooManyBegun):
        answer.headers["Retry-After"] = str(refusal.seconds)
    return answer


def _why(provider: "Provider", refusal: Exception) -> tuple[int, str]:
    """The HTTP status and the words of a refusal; the log has its reason."""
    _LOG.warning("single sign-on: %s", reason_of(refusal))
    return words_for(refusal, provider.sign_on.label)
