"""Wall links of a ward: make one, see which are open, take one back."""

from datetime import datetime
from typing import Final
from zoneinfo import ZoneInfo

from fastapi import APIRouter, Request, Response

from server.domain.wording import dated_time
from server.pages.answers import PageRoute, attempt
from server.pages.forms.entry import Wrong
from server.pages.links import wall_href, wall_link_href, ward_href
from server.pages.rendering import page
from server.pages.setup_screen import Screen
from server.pages.visitors import See, Typed
from server.pages.wall import open_links
from server.services.shown import shows_no_patient
from server.services.wall_links import list_wall_links, make_wall_link, revoke_wall_link

router = APIRouter(route_class=PageRoute, include_in_schema=False)

NAME: Final = "wall-links"


@router.get("/wards/{ward_id}/wall-links")
@shows_no_patient
def see_wall_links(request: Request, visitor: See, ward_id: str) -> Response:
    """The links of a ward; their addresses are not kept, so none can be shown again."""
    return _page(Screen(request, visitor, NAME, ward_id))


@router.post("/wards/{ward_id}/wall-links")
def make(request: Request, visitor: See, typed: Typed, ward_id: str) -> Response:
    """Make a link; its address is shown once, on the page that answers."""
    screen = Screen(request, visitor, NAME, ward_id)

    def act() -> Response:
        with screen.store.write() as session:
            secret = make_wall_link(session, visitor.actor, ward_id, now=screen.now)
        return _page(screen, made=f"{str(request.base_url).rstrip('/')}{wall_href(secret)}")

    return attempt(visitor, typed, act, lambda wrong: _page(screen, wrong=wrong))


@router.post("/wards/{ward_id}/wall-links/{link_id}/revoke")
def revoke(request: Request, visitor: See, typed: Typed, ward_id: str, link_id: str) -> Response:
    """Take a link back; walls that show it go dark within seconds."""
    screen = Screen(request, visitor, NAME, ward_id)

    def act() -> str:
        with screen.store.write() as session:
            revoke_wall_link(session, visitor.actor, ward_id, link_id, now=screen.now)
        open_links(request.app).forget_all()
        return ward_href(ward_id, NAME)

    return screen.try_form(typed, act, lambda wrong: _page(screen, wrong=wrong))


def _page(screen: Screen, *, made: str = "", wrong: Wrong | None = None) -> Response:
    setting, ward_id = screen.setting(), screen.ward_id or ""
    with screen.store.read() as session:
        links = list_wall_links(session, screen.visitor.actor, ward_id)
    zone: ZoneInfo = setting.zone
    shown = [
        {
            "made": dated_time(link.made_at, zone, screen.now),
            "revoked": ""
            if link.revoked_at is None
            else dated_time(link.revoked_at, zone, screen.now),
            "href": wall_link_href(ward_id, link.id),
        }
        for link in links
    ]
    return page(
        "setup/wall_links.html",
        status=wrong.status if wrong else 200,
        head=screen.head(setting),
        wall_links=shown,
        made=made,
        make_href=ward_href(ward_id, NAME),
        errors=wrong.errors if wrong else {},
        csrf_token=screen.visitor.csrf_token,
    )


def _words(instant: datetime | None, zone: ZoneInfo, now: datetime) -> str:
    return "" if instant is None else dated_time(instant, zone, now)
