"""The account of single sign-on of a member of staff: enter it, undo it."""

from typing import Final

from fastapi import APIRouter, Request, Response

from server.pages.answers import PageRoute
from server.pages.forms.entry import Wrong
from server.pages.links import account_href, ward_href
from server.pages.rendering import page
from server.pages.setup_screen import Screen
from server.pages.sso import require_provider
from server.pages.sso_view import link_view
from server.pages.visitors import See, Typed, signed_in_of
from server.services.enter_staff import read_staff, require_all_of
from server.services.shown import shows_no_patient
from server.services.sso_links import enter_link, read_link, undo_link

router = APIRouter(route_class=PageRoute, include_in_schema=False)

NAME: Final = "staff"
HERE: Final = "/wards/{ward_id}/staff/{staff_id}/account"


@router.get(HERE)
@shows_no_patient
def see_account(
    request: Request, visitor: See, ward_id: str, staff_id: str, done: str = ""
) -> Response:
    """Which account at the provider is somebody's."""
    return _page(Screen(request, visitor, NAME, ward_id), staff_id, done=done)


@router.post(HERE)
def enter(request: Request, visitor: See, typed: Typed, ward_id: str, staff_id: str) -> Response:
    """Enter what somebody's account is called at the provider."""
    screen, sign_on = Screen(request, visitor, NAME, ward_id), request.app.state.settings.sign_on

    def act() -> str:
        with screen.store.write() as session:
            actor, account = visitor.actor, typed.raw("account")
            enter_link(session, actor, sign_on, staff_id, account, now=screen.now)
        signed_in_of(request.app).forget_all()
        return f"{account_href(ward_id, staff_id)}?done=entered"

    return screen.try_form(
        typed, act, lambda wrong: _page(screen, staff_id, wrong, account=typed.raw("account"))
    )


@router.post(f"{HERE}/undo")
def undo(request: Request, visitor: See, typed: Typed, ward_id: str, staff_id: str) -> Response:
    """Have the account open nothing from now on, and sign the person out everywhere."""
    screen = Screen(request, visitor, NAME, ward_id)

    def act() -> str:
        with screen.store.write() as session:
            undo_link(session, visitor.actor, staff_id, now=screen.now)
        signed_in_of(request.app).forget_all()
        return f"{account_href(ward_id, staff_id)}?done=undone"

    return screen.try_form(typed, act, lambda wrong: _page(screen, staff_id, wrong))


def _page(
    screen: Screen,
    staff_id: str,
    wrong: Wrong | None = None,
    *,
    account: str = "",
    done: str = "",
) -> Response:
    app, actor, ward_id = screen.request.app, screen.visitor.actor, screen.ward_id or ""
    setting = screen.setting()
    with screen.store.read() as session:
        require_all_of(session, actor, staff_id)
        member = read_staff(session, actor, staff_id)
        link = read_link(session, actor, staff_id)
    return page(
        "setup/account.html",
        status=wrong.status if wrong else 200,
        head=screen.head(setting),
        person=member.name,
        label=require_provider(screen.request).sign_on.label,
        claim=app.state.settings.sso_claim,
        link=None if link is None else link_view(link, app, setting.zone, screen.now),
        account=account,
        here=account_href(ward_id, staff_id),
        staff_href=ward_href(ward_id, "staff"),
        done=done,
        errors=wrong.errors if wrong else {},
        csrf_token=screen.visitor.csrf_token,
    )
