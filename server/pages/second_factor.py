"""The own second factor: set up with an app, recovery codes shown once, turned off."""

from collections.abc import Callable
from enum import StrEnum
from typing import Final

from fastapi import APIRouter, Request, Response

from server.domain.wording import dated_time
from server.pages.answers import PageRoute, attempt, done
from server.pages.forms.entry import MISSING, Entry, Wrong
from server.pages.half_way import is_required_of
from server.pages.links import MY_SIGN_IN
from server.pages.qr_view import qr_view
from server.pages.recognising import require_password, say_when
from server.pages.rendering import page
from server.pages.setup_screen import Screen
from server.pages.visitors import See, Typed
from server.services.errors import NotFound
from server.services.one_time_codes import RECOVERY_CODES, address_for_apps, in_groups
from server.services.second_factor import (
    begin_second_factor,
    confirm_second_factor,
    read_factor,
    renew_recovery_codes,
    require_may_have,
    turn_off_second_factor,
)
from server.services.shown import shows_no_patient
from server.store.sessions import WriteSession
from server.store.staff import read_staff

router = APIRouter(route_class=PageRoute, include_in_schema=False)

NAME: Final = "my-sign-in"
HERE: Final = f"{MY_SIGN_IN}/second-factor"
FEW: Final = 2
OFF: Final = "Your second factor is off: your password alone signs you in."


class Doing(StrEnum):
    """What a form of the page does."""

    BEGIN = "begin"
    CONFIRM = "confirm"
    CODES = "codes"
    OFF = "off"


@router.get(HERE)
@shows_no_patient
def see_second_factor(request: Request, visitor: See, done: str = "") -> Response:
    """Whether one has a second factor, what an app is set up with, and what can be done."""
    require_may_have(visitor.actor)
    return _page(Screen(request, visitor, NAME), done=OFF if done == "off" else "")


@router.post(f"{HERE}/{{act}}")
def do(request: Request, visitor: See, typed: Typed, act: str) -> Response:
    """Begin, confirm by a code, make new recovery codes, or turn it off.

    All but confirming ask for the password again.
    """
    require_may_have(visitor.actor)
    if act not in Doing.__members__.values():
        raise NotFound("the page")
    screen = Screen(request, visitor, NAME)
    steps: dict[Doing, Callable[[WriteSession], tuple[str, ...]]] = {
        Doing.BEGIN: lambda session: _begin(session, screen),
        Doing.CONFIRM: lambda session: _confirm(session, screen, typed),
        Doing.CODES: lambda session: renew_recovery_codes(session, visitor.actor, now=screen.now),
        Doing.OFF: lambda session: _turn_off(session, screen),
    }

    def take() -> Response:
        if act != Doing.CONFIRM:
            require_password(request, visitor.actor, typed)
        with screen.store.write() as session:
            codes = steps[Doing(act)](session)
        if codes:
            return _codes_page(screen, codes)
        return done(f"{HERE}?done=off" if act == Doing.OFF else HERE)

    return attempt(visitor, typed, take, lambda wrong: _page(screen, wrong, form=act))


def _begin(session: WriteSession, screen: Screen) -> tuple[str, ...]:
    begin_second_factor(session, screen.visitor.actor, now=screen.now)
    return ()


def _confirm(session: WriteSession, screen: Screen, typed: Entry) -> tuple[str, ...]:
    code = typed.raw("code")
    if not code.strip():
        raise Wrong({"code": MISSING})
    return confirm_second_factor(session, screen.visitor.actor, code, now=screen.now)


def _turn_off(session: WriteSession, screen: Screen) -> tuple[str, ...]:
    required = is_required_of(screen.request.app, screen.visitor.actor.role)
    turn_off_second_factor(session, screen.visitor.actor, required=required, now=screen.now)
    return ()


def _codes_page(screen: Screen, codes: tuple[str, ...]) -> Response:
    return page(
        "sign_in/recovery_codes.html",
        head=screen.head(screen.setting()),
        codes=[in_groups(one) for one in codes],
        onward_href=MY_SIGN_IN,
    )


def _page(
    screen: Screen, wrong: Wrong | None = None, *, form: str = "", done: str = ""
) -> Response:
    setting, actor = screen.setting(), screen.visitor.actor
    with screen.store.read() as session:
        read = read_factor(session, actor.id, now=screen.now)
        staff = read_staff(session, actor.id)
    name = actor.name if staff is None else staff.sign_in_name or actor.name
    answer = page(
        "sign_in/second_factor.html",
        status=wrong.status if wrong else 200,
        head=screen.head(setting),
        set_at="" if read.set_at is None else dated_time(read.set_at, setting.zone, screen.now),
        codes_left=read.codes_left,
        few=read.codes_left <= FEW,
        all_codes=RECOVERY_CODES,
        qr=qr_view(address_for_apps(read.begun, name)) if read.begun else None,
        secret=in_groups(read.begun),
        required=is_required_of(screen.request.app, actor.role),
        here=HERE,
        back_href=MY_SIGN_IN,
        done=done,
        errors=wrong.errors if wrong else {},
        wrong_form=form,
    )
    return say_when(answer, wrong) if wrong else answer
