"""How one signs in: the own PIN, the badge, where one is signed in, and what was left typed."""

from dataclasses import dataclass
from typing import Final

from fastapi import APIRouter, Request, Response

from server.domain.pins import SHORTEST
from server.domain.wording import dated_time
from server.pages.answers import PageRoute
from server.pages.forms.entry import MISSING, Entry, Wrong
from server.pages.links import MY_SIGN_IN
from server.pages.recognising import require_password, say_when
from server.pages.rendering import page
from server.pages.second_factor_words import factor_words
from server.pages.setup_screen import Screen
from server.pages.sso_onward import way_of
from server.pages.sso_view import link_view
from server.pages.visitors import See, Typed, Visitor, now_of, signed_in_of
from server.services.badges import read_badge
from server.services.end_sessions import end_other_sessions, end_own_session, list_own_sessions
from server.services.keep_unsent import list_unsent
from server.services.passwords import SHORTEST_PASSWORD
from server.services.second_factor import read_factor
from server.services.set_password import set_own_password
from server.services.set_pin import pin_set_at, set_pin
from server.services.shown import shows_no_patient
from server.services.sso_links import read_link
from server.services.sso_sign_in import is_just_recognised

router = APIRouter(route_class=PageRoute, include_in_schema=False)

NAME: Final = "my-sign-in"
NOT_AGAIN: Final = "is not the same as the PIN above"
DONE: Final = {
    "pin": "Your PIN is set. With your badge it signs you in on any device of the ward.",
    "password": "Your password is changed. You are signed out everywhere but here.",
    "linked": "Your account is linked: from now on it signs you in.",
    "undone": "The link is undone. You are signed out everywhere but here.",
}


@dataclass(frozen=True, slots=True)
class SessionView:
    """One place where a person is signed in, in words; `here` is the one that is looked at."""

    device: str
    since: str
    seen: str
    here: bool
    href: str


@router.get(MY_SIGN_IN)
@shows_no_patient
def see_own_sign_in(request: Request, visitor: See, done: str = "") -> Response:
    """The PIN, the badge, the sessions, and the pages with something typed and not stored."""
    return own_page(request, visitor, done=DONE.get(done, ""))


@router.post(f"{MY_SIGN_IN}/pin")
def enter_pin(request: Request, visitor: See, typed: Typed) -> Response:
    """Set the own PIN; the password is asked for again, except of who just came from a provider."""
    screen = Screen(request, visitor, NAME)

    def act() -> str:
        with screen.store.read() as session:
            is_known = is_just_recognised(session, visitor.actor, now=screen.now)
        _require_same(typed, *(() if is_known else ("password",)))
        if not is_known:
            require_password(request, visitor.actor, typed)
        with screen.store.write() as session:
            key = request.app.state.board_key
            set_pin(session, key, visitor.actor, typed.raw("pin"), now=screen.now)
        return f"{MY_SIGN_IN}?done=pin"

    return screen.try_form(typed, act, lambda wrong: own_page(request, visitor, wrong=wrong))


@router.post(f"{MY_SIGN_IN}/password")
def enter_password(request: Request, visitor: See, typed: Typed) -> Response:
    """Change the own password; the present one is asked for, and all other sessions end."""
    screen = Screen(request, visitor, NAME)

    def act() -> str:
        _refuse_missing(typed, "password", "new_password")
        typed.check()
        require_password(request, visitor.actor, typed)
        with screen.store.write() as session:
            set_own_password(session, visitor.actor, typed.raw("new_password"), now=screen.now)
        signed_in_of(request.app).forget_all()
        return f"{MY_SIGN_IN}?done=password"

    return screen.try_form(
        typed, act, lambda wrong: own_page(request, visitor, wrong=wrong, form="w")
    )


@router.post(f"{MY_SIGN_IN}/sessions/{{session_id}}/end")
def end_one(request: Request, visitor: See, typed: Typed, session_id: str) -> Response:
    """Sign out on another device."""
    screen = Screen(request, visitor, NAME)

    def act() -> str:
        with screen.store.write() as session:
            end_own_session(session, visitor.actor, session_id, now=screen.now)
        signed_in_of(request.app).forget_all()
        return MY_SIGN_IN

    return screen.try_form(typed, act, lambda wrong: own_page(request, visitor, wrong=wrong))


@router.post(f"{MY_SIGN_IN}/others/end")
def end_others(request: Request, visitor: See, typed: Typed) -> Response:
    """Sign out everywhere but here."""
    screen = Screen(request, visitor, NAME)

    def act() -> str:
        with screen.store.write() as session:
            end_other_sessions(session, visitor.actor, now=screen.now)
        signed_in_of(request.app).forget_all()
        return MY_SIGN_IN

    return screen.try_form(typed, act, lambda wrong: own_page(request, visitor, wrong=wrong))


def _require_same(typed: Entry, *more: str) -> None:
    _refuse_missing(typed, *more, "pin", "pin_again")
    if typed.raw("pin") != typed.raw("pin_again"):
        typed.refuse("pin_again", NOT_AGAIN)
    typed.check()


def _refuse_missing(typed: Entry, *fields: str) -> None:
    for field in fields:
        if not typed.raw(field):
            typed.refuse(field, MISSING)


def own_page(
    request: Request,
    visitor: Visitor,
    *,
    wrong: Wrong | None = None,
    done: str = "",
    form: str = "f",
) -> Response:
    """Answer the page; `form` is the prefix of the form that was refused."""
    screen, now, actor = Screen(request, visitor, NAME), now_of(request), visitor.actor
    setting = screen.setting()
    with screen.store.read() as session:
        pin_at, badge = pin_set_at(session, actor), read_badge(session, actor, actor.id)
        link = read_link(session, actor, actor.id)
        is_known = is_just_recognised(session, actor, now=now)
        factor = read_factor(session, actor.id, now=now)
        sessions = list_own_sessions(session, actor, now=now)
        left = list_unsent(session, actor, now=now)
    zone = setting.zone
    answer = page(
        "sign_in/own.html",
        status=wrong.status if wrong else 200,
        head=screen.head(setting),
        pin_at="" if pin_at is None else dated_time(pin_at, zone, now),
        badge_at="" if badge is None else dated_time(badge.recorded_at, zone, now),
        shortest=SHORTEST,
        sessions=[
            SessionView(
                device=one.device,
                since=dated_time(one.made_at, zone, now),
                seen=dated_time(one.seen_at, zone, now),
                here=one.id == actor.access_id,
                href=f"{MY_SIGN_IN}/sessions/{one.id}/end",
            )
            for one in sessions
        ],
        left=[(one.path, one.titles, dated_time(one.kept_at, zone, now)) for one in left],
        here=MY_SIGN_IN,
        done=done,
        errors=wrong.errors if wrong else {},
        wrong_form=form,
        shortest_password=SHORTEST_PASSWORD,
        factor=factor_words(factor, zone, now),
        asks_password=not is_known,
        way=way_of(request.app),
        link=None if link is None else link_view(link, request.app, zone, now),
    )
    return say_when(answer, wrong) if wrong else answer
