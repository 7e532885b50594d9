"""The badge of a member of staff: record it, take it back; where and how they are signed in."""

from typing import Final

from fastapi import APIRouter, Request, Response

from server.domain.wording import dated_time
from server.pages.answers import PageRoute
from server.pages.forms.entry import MISSING, Wrong
from server.pages.links import badge_href, ward_href
from server.pages.rendering import page
from server.pages.second_factor_words import factor_words
from server.pages.setup_screen import Screen
from server.pages.visitors import See, Typed, signed_in_of
from server.services.badges import read_badge, record_badge, require_badges, take_badge_back
from server.services.end_sessions import end_sessions_of, list_sessions_of
from server.services.enter_staff import read_staff
from server.services.permissions import Act, may
from server.services.second_factor import read_factor, take_second_factor_away
from server.services.shown import shows_no_patient

router = APIRouter(route_class=PageRoute, include_in_schema=False)

NAME: Final = "staff"
HERE: Final = "/wards/{ward_id}/staff/{staff_id}/badge"


@router.get(HERE)
@shows_no_patient
def see_badge(
    request: Request, visitor: See, ward_id: str, staff_id: str, done: str = ""
) -> Response:
    """Whether somebody has a badge, and since when; its number is not known here."""
    return _page(Screen(request, visitor, NAME, ward_id), staff_id, done=done)


@router.post(HERE)
def record(request: Request, visitor: See, typed: Typed, ward_id: str, staff_id: str) -> Response:
    """Record the badge that was scanned or typed."""
    screen = Screen(request, visitor, NAME, ward_id)

    def act() -> str:
        scan, key = typed.raw("badge"), request.app.state.board_key
        if not scan.strip():
            raise Wrong({"badge": MISSING})
        with screen.store.write() as session:
            record_badge(session, key, visitor.actor, staff_id, scan, now=screen.now)
        return f"{badge_href(ward_id, staff_id)}?done=recorded"

    return screen.try_form(typed, act, lambda wrong: _page(screen, staff_id, wrong))


@router.post(f"{HERE}/take-back")
def take_back(
    request: Request, visitor: See, typed: Typed, ward_id: str, staff_id: str
) -> Response:
    """Have the badge open nothing from now on."""
    screen = Screen(request, visitor, NAME, ward_id)

    def act() -> str:
        with screen.store.write() as session:
            take_badge_back(session, visitor.actor, staff_id, now=screen.now)
        return f"{badge_href(ward_id, staff_id)}?done=taken"

    return screen.try_form(typed, act, lambda wrong: _page(screen, staff_id, wrong))


@router.post(f"{HERE}/sign-out")
def sign_out(request: Request, visitor: See, typed: Typed, ward_id: str, staff_id: str) -> Response:
    """Sign somebody out everywhere."""
    screen = Screen(request, visitor, NAME, ward_id)

    def act() -> str:
        with screen.store.write() as session:
            end_sessions_of(session, visitor.actor, staff_id, now=screen.now)
        signed_in_of(request.app).forget_all()
        return f"{badge_href(ward_id, staff_id)}?done=signed-out"

    return screen.try_form(typed, act, lambda wrong: _page(screen, staff_id, wrong))


@router.post(f"{HERE}/second-factor")
def take_factor(
    request: Request, visitor: See, typed: Typed, ward_id: str, staff_id: str
) -> Response:
    """Take the second factor of somebody away who has lost it."""
    screen = Screen(request, visitor, NAME, ward_id)

    def act() -> str:
        with screen.store.write() as session:
            take_second_factor_away(session, visitor.actor, staff_id, now=screen.now)
        return f"{badge_href(ward_id, staff_id)}?done=factor"

    return screen.try_form(typed, act, lambda wrong: _page(screen, staff_id, wrong))


def _page(screen: Screen, staff_id: str, wrong: Wrong | None = None, *, done: str = "") -> Response:
    actor, ward_id = screen.visitor.actor, screen.ward_id or ""
    setting, sets_up = screen.setting(), may(screen.visitor.actor, Act.SET_UP)
    with screen.store.read() as session:
        require_badges(session, actor, staff_id)
        member = read_staff(session, actor, staff_id)
        badge = read_badge(session, actor, staff_id)
        sessions = list_sessions_of(session, actor, staff_id, now=screen.now) if sets_up else ()
        factor = read_factor(session, staff_id, now=screen.now) if sets_up else None
    words = [
        (
            one.device,
            dated_time(one.made_at, setting.zone, screen.now),
            dated_time(one.seen_at, setting.zone, screen.now),
        )
        for one in sessions
    ]
    return page(
        "setup/badge.html",
        status=wrong.status if wrong else 200,
        head=screen.head(setting),
        person=member.name,
        badge_at="" if badge is None else dated_time(badge.recorded_at, setting.zone, screen.now),
        sets_up=sets_up,
        sessions=words,
        factor="" if factor is None else factor_words(factor, setting.zone, screen.now),
        has_factor=factor is not None and factor.set_at is not None,
        here=badge_href(ward_id, staff_id),
        staff_href=ward_href(ward_id, "staff"),
        done=done,
        errors=wrong.errors if wrong else {},
        csrf_token=screen.visitor.csrf_token,
    )
