"""Handing units over and taking them over: from the page of one unit, and from a list of all."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final
from urllib.parse import urlencode

from fastapi import APIRouter, Request, Response

from server.domain.audit import SubjectKind
from server.domain.picture import OFF_THE_BOARD
from server.pages.answers import PageRoute
from server.pages.forms.entry import Entry, Wrong
from server.pages.forms.fields import Field, Options, Shape
from server.pages.forms.views import FieldView, Surroundings, field_views, form_errors
from server.pages.links import MINE, episode_href, hand_href
from server.pages.own_list.colleagues import colleague_options
from server.pages.own_list.unit_line import UnitLine, unit_line, unit_text
from server.pages.rendering import page
from server.pages.setup_screen import Screen
from server.pages.visitors import See, Typed
from server.pages.ward_setting import ward_setting
from server.services.changing_hands import Changed, Wanted
from server.services.enter_ward import list_wards
from server.services.hand_over import hand_over
from server.services.permissions import Act, may, require
from server.services.read_board import BoardRow, read_board
from server.services.read_episode import EpisodeRead, read_episode
from server.services.shown import shows
from server.services.take_over import take_over
from server.store.sessions import WriteSession

router = APIRouter(route_class=PageRoute, include_in_schema=False)

NAME: Final = "mine"
LEFT: Final = "left"
"""What names units that could not change hands in the address of the list."""
UNIT: Final = "unit"
PATIENT: Final = "patient"
WHAT: Final[Options] = (
    (UNIT, "this unit"),
    (PATIENT, "everything of this patient"),
)
FIELDS: Final = (
    Field("what", "What", Shape.PICK, options=WHAT, required=True),
    Field("to", "To whom", Shape.PICK, given="colleagues", required=True),
)


@dataclass(frozen=True, slots=True)
class OtherRow:
    """A unit that a colleague has, or nobody."""

    line: UnitLine
    held_by: str
    nurse: str


@dataclass(frozen=True, slots=True)
class HandView:
    """One unit that may change hands. `hands` and `takes`: what the person may do with it."""

    bed: str
    name: str
    unit: str
    nurse: str
    held_by: str
    back: str
    href: str
    fields: tuple[FieldView, ...]
    hands: bool
    takes: bool
    errors: Mapping[str, str]


@router.get(f"{MINE}/units/{{episode_id}}")
@shows(SubjectKind.EPISODE, "episode_id")
def see_unit(request: Request, visitor: See, episode_id: str) -> Response:
    """Who has the unit, and the forms by which it changes hands."""
    return _page(Screen(request, visitor, NAME), episode_id, Entry({"what": [UNIT]}))


@router.post(f"{MINE}/units/{{episode_id}}/hand-over")
def give(request: Request, visitor: See, typed: Typed, episode_id: str) -> Response:
    """Hand the unit, or everything of its patient, to a colleague."""
    screen = Screen(request, visitor, NAME)

    def write(session: WriteSession) -> str:
        to, wanted = typed.text("to", required=True), _wanted(typed, episode_id)
        typed.check()
        return _onto(hand_over(session, visitor.actor, wanted, to or "", now=screen.now))

    return screen.try_form(
        typed,
        lambda: screen.write_once(typed, write),
        lambda wrong: _page(screen, episode_id, typed, wrong),
    )


@router.post(f"{MINE}/units/{{episode_id}}/take-over")
def take(request: Request, visitor: See, typed: Typed, episode_id: str) -> Response:
    """Take the unit, or everything of its patient."""
    screen = Screen(request, visitor, NAME)

    def write(session: WriteSession) -> str:
        wanted = _wanted(typed, episode_id)
        return _onto(take_over(session, visitor.actor, wanted, now=screen.now))

    return screen.try_form(
        typed,
        lambda: screen.write_once(typed, write),
        lambda wrong: _page(screen, episode_id, typed, wrong),
    )


@router.get(f"{MINE}/take-over")
@shows(SubjectKind.OWN_LIST)
def see_others(request: Request, visitor: See) -> Response:
    """The units that colleagues have on the wards of whoever is signed in, and nobody's."""
    require(visitor.actor, Act.HAND_OVER)
    screen = Screen(request, visitor, NAME)
    setting, me = screen.setting(), visitor.actor.staff_id
    with screen.store.read() as session:
        wards = list_wards(session, visitor.actor)
        boards = [read_board(session, visitor.actor, one.id, now=screen.now) for one in wards]
    rows = [
        _other(row, board.ward.name if len(wards) > 1 else "")
        for board in boards
        for row in board.rows
        if row.picture.episode.nurse_id != me and row.picture.episode.phase not in OFF_THE_BOARD
    ]
    by_nurse: dict[str, list[OtherRow]] = {}
    for row in sorted(rows, key=lambda row: (row.nurse != "", row.nurse.casefold())):
        by_nurse.setdefault(row.nurse, []).append(row)
    return page(
        "mine/others.html",
        head=screen.head(setting),
        groups=by_nurse,
        csrf_token=visitor.csrf_token,
    )


def _onto(changed: Changed) -> str:
    """The list, where units are named that could not change hands."""
    left = urlencode([(LEFT, unit) for unit in changed.left])
    return f"{MINE}?{left}" if left else MINE


def _wanted(typed: Entry, episode_id: str) -> Wanted:
    held_by = typed.text("held_by")
    return Wanted(episode_id, whole_patient=typed.raw("what") == PATIENT, held_by=held_by)


def _page(screen: Screen, episode_id: str, typed: Entry, wrong: Wrong | None = None) -> Response:
    actor, now = screen.visitor.actor, screen.now
    with screen.store.read() as session:
        read = read_episode(session, actor, episode_id, now=now)
        require(actor, Act.HAND_OVER, read.ward.id)
        setting = ward_setting(session, actor, now, read.ward.id)
        holder = read.picture.episode.nurse_id
        colleagues = colleague_options(session, setting, now, without=holder)
    around = Surroundings(setting.zone, {"colleagues": colleagues})
    fields = field_views(FIELDS, typed, around)
    return page(
        "mine/hand.html",
        status=wrong.status if wrong else 200,
        head=screen.head(setting),
        hand=_view(read, screen, fields, form_errors(typed, wrong.errors) if wrong else {}),
        csrf_token=screen.visitor.csrf_token,
    )


def _view(
    read: EpisodeRead, screen: Screen, fields: tuple[FieldView, ...], errors: Mapping[str, str]
) -> HandView:
    actor, request = screen.visitor.actor, read.picture.case.request
    holder = read.picture.episode.nurse_id
    oversees = may(actor, Act.OVERSEE, read.ward.id)
    return HandView(
        bed=request.bed,
        name=read.picture.case.patient.full_name,
        unit=unit_text(request),
        nurse="" if holder is None else read.names.get(holder, holder),
        held_by=holder or "",
        back=episode_href(request.id),
        href=hand_href(request.id),
        fields=fields,
        hands=oversees or holder == actor.staff_id,
        takes=holder != actor.staff_id,
        errors=errors,
    )


def _other(row: BoardRow, ward: str) -> OtherRow:
    holder = row.picture.episode.nurse_id or ""
    return OtherRow(unit_line(row.picture, ward), holder, row.nurse_name or holder)
