"""My list: what is due on the units that a nurse answers for, and "I have it" with one touch."""

from collections.abc import Sequence
from typing import Annotated, Final

from fastapi import APIRouter, Query, Request, Response

from server.domain import limits
from server.domain.audit import SubjectKind
from server.domain.words import ClockName
from server.pages.answers import PageRoute
from server.pages.forms.entry import Entry, Wrong
from server.pages.forms.fields import Options
from server.pages.links import MINE, local_path, ward_href
from server.pages.own_list.coming import coming_views
from server.pages.own_list.left_behind import left_lines
from server.pages.own_list.view import MineView, mine_view
from server.pages.rendering import page, wants_part
from server.pages.setup_screen import Screen
from server.pages.visitors import See, Typed
from server.services.acknowledge import acknowledge
from server.services.changing_hands import left_behind
from server.services.list_mine import Mine, list_mine
from server.services.list_planned import list_planned
from server.services.nurses import nurses_of_ward
from server.services.permissions import Act, may
from server.services.shown import shows
from server.store.sessions import ReadSession, WriteSession

router = APIRouter(route_class=PageRoute, include_in_schema=False)

NAME: Final = "mine"
NOTHING: Final[list[str]] = []
Nurse = Annotated[str, Query(max_length=200)]
Left = Annotated[list[str], Query(max_length=limits.LIST_ITEMS)]


@router.get(MINE)
@shows(SubjectKind.OWN_LIST)
def see_mine(request: Request, visitor: See, nurse: Nurse = "", left: Left = NOTHING) -> Response:
    """The list of whoever is signed in; `nurse` names another's, for whoever is in charge.

    `left` are units that could not change hands a moment ago: they are named above it.
    """
    return _page(Screen(request, visitor, NAME), nurse, left=left)


@router.get(f"{MINE}/due")
@shows(SubjectKind.OWN_LIST)
def see_due(request: Request, visitor: See, back: Nurse = "") -> Response:
    """What reminds whoever is signed in, alone: another page puts it in place."""
    screen = Screen(request, visitor, NAME)
    with screen.store.read() as session:
        view = _view(list_mine(session, visitor.actor, now=screen.now), screen)
    return page(
        "mine/due.html", mine=view, csrf_token=visitor.csrf_token, back=local_path(back) or MINE
    )


@router.post(f"{MINE}/have")
def have(request: Request, visitor: See, typed: Typed) -> Response:
    """Say "I have it" of one task; it never meets a clock."""
    screen = Screen(request, visitor, NAME)

    def write(session: WriteSession) -> str:
        episode_id = typed.text("episode_id", required=True) or ""
        clocks = [_clock(typed, name) for name in typed.all("clock")]
        typed.check()
        for clock in clocks:
            acknowledge(session, visitor.actor, episode_id, clock, now=screen.now)
        return _back(typed)

    return screen.try_form(
        typed,
        lambda: screen.write_once(typed, write),
        lambda wrong: _page(screen, typed.raw("nurse"), wrong),
    )


def _clock(typed: Entry, name: str) -> ClockName:
    if name not in set(ClockName):
        typed.refuse("clock", "is none of the clocks")
        return ClockName.START
    return ClockName(name)


def _back(typed: Entry) -> str:
    return local_path(typed.raw("back")) or MINE


def _page(
    screen: Screen, nurse: str, wrong: Wrong | None = None, left: Sequence[str] = NOTHING
) -> Response:
    setting, actor = screen.setting(), screen.visitor.actor
    with screen.store.read() as session:
        mine = list_mine(session, actor, nurse or None, now=screen.now)
        coming = list_planned(session, actor, mine.nurse.id, mine.wards, now=screen.now)
        nurses = _nurses(session, screen)
        behind = left_behind(session, actor, left, now=screen.now)
    view = _view(mine, screen)
    own = view.own
    return page(
        "mine/list.html" if wants_part(screen.request) else "mine/mine.html",
        status=wrong.status if wrong else 200,
        head=screen.head(setting),
        mine=view,
        coming=coming_views(coming, mine),
        left=left_lines(behind),
        nurse="" if own else nurse,
        nurses=nurses,
        chosen=nurse or actor.staff_id or "",
        cover_href=ward_href(setting.ward_id, "cover") if setting.ward_id else "",
        errors=wrong.errors if wrong else {},
        csrf_token=screen.visitor.csrf_token,
    )


def _view(mine: Mine, screen: Screen) -> MineView:
    actor = screen.visitor.actor
    hrefs = {ward_id: ward_href(ward_id, "cover") for ward_id in mine.wards}
    return mine_view(mine, own=mine.nurse.id == actor.staff_id, cover_href=hrefs)


def _nurses(session: ReadSession, screen: Screen) -> Options:
    """The nurses whose lists the person may look at, none for a bedside nurse."""
    actor, ward_id = screen.visitor.actor, screen.setting().ward_id
    if ward_id is None or not may(actor, Act.OVERSEE, ward_id):
        return ()
    return tuple((one.id, one.name) for one in nurses_of_ward(session, ward_id))
