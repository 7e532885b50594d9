"""The staff of a ward: list; enter and change for those who set up."""

from typing import Final

from fastapi import APIRouter, Request, Response

from server.domain.words import Role
from server.pages.answers import PageRoute
from server.pages.forms.entry import Entry, Wrong
from server.pages.forms.fields import Field, Options, Shape
from server.pages.forms.views import Surroundings
from server.pages.links import account_href, badge_href, staff_href, ward_href
from server.pages.setup_screen import Screen
from server.pages.tables import Cell, ListPage, Row, Sheet, list_page
from server.pages.visitors import See, Typed, signed_in_of
from server.pages.ward_setting import ROLE
from server.services.badges import list_badged
from server.services.enter_staff import (
    StaffDraft,
    enter_staff,
    list_staff,
    read_staff,
)
from server.services.enter_ward import list_wards
from server.services.passwords import SHORTEST_PASSWORD
from server.services.permissions import Act, may, require
from server.services.shown import shows_no_patient
from server.services.sso_links import list_linked
from server.store.staff import Staff

router = APIRouter(route_class=PageRoute, include_in_schema=False)

NAME: Final = "staff"
ALL_WARDS: Final = "*"
ROLES: Final = tuple((one.value, ROLE[one]) for one in Role if one is not Role.INTERFACE)
FIELDS: Final = (
    Field("name", "Name", required=True),
    Field("role", "Role", Shape.PICK, options=ROLES, required=True),
    Field("wards", "Wards", Shape.ANY_OF, given="wards", hint="Nothing ticked: no ward."),
    Field("sign_in_name", "Name to sign in with", hint="Left empty: is only named in the record."),
    Field(
        "password",
        "New password",
        Shape.MASKED,
        hint=f"At least {SHORTEST_PASSWORD} characters. Left empty: stays as it is.",
    ),
    Field("active", "Works here", Shape.TICK),
)


@router.get("/wards/{ward_id}/staff")
@shows_no_patient
def see_staff(request: Request, visitor: See, ward_id: str) -> Response:
    """The staff of a ward by name."""
    screen = Screen(request, visitor, NAME, ward_id)
    setting, sets_up = screen.setting(), may(visitor.actor, Act.SET_UP)
    sign_on = request.app.state.settings.sign_on
    with screen.store.read() as session:
        staff = list_staff(session, visitor.actor, ward_id)
        badged = list_badged(session, visitor.actor)
        linked = list_linked(session, visitor.actor, sign_on) if sign_on else frozenset()
    gives, links = may(visitor.actor, Act.BADGES), sets_up and sign_on is not None
    listed = ListPage(
        title="Staff",
        caption="Staff by name",
        columns=(
            *("Name", "Role", "Signs in as"),
            *(("Badge",) if gives else ()),
            *(("Account",) if links else ()),
            "Works here",
        ),
        rows=tuple(
            _row(
                one,
                ward_id,
                (
                    *(_badge(one, ward_id, badged) if gives else ()),
                    *(_account(one, ward_id, linked) if links else ()),
                ),
                sets_up=sets_up,
            )
            for one in staff
        ),
        empty="Nobody is on this ward yet.",
        actions=(("Enter somebody", ward_href(ward_id, "staff/new")),) if sets_up else (),
    )
    return list_page(screen.head(setting), listed)


@router.get("/wards/{ward_id}/staff/new")
@shows_no_patient
def see_new_staff(request: Request, visitor: See, ward_id: str) -> Response:
    """The form to enter a member of staff."""
    require(visitor.actor, Act.SET_UP)
    values = {"wards": [ward_id], "role": [Role.BEDSIDE_NURSE.value], "active": ["true"]}
    return _form(Screen(request, visitor, NAME, ward_id), None, Entry(values))


@router.post("/wards/{ward_id}/staff")
def enter(request: Request, visitor: See, typed: Typed, ward_id: str) -> Response:
    """Enter a member of staff."""
    return _try(Screen(request, visitor, NAME, ward_id), typed, None)


@router.get("/wards/{ward_id}/staff/{staff_id}")
@shows_no_patient
def see_member(request: Request, visitor: See, ward_id: str, staff_id: str) -> Response:
    """The form to change a member of staff."""
    require(visitor.actor, Act.SET_UP)
    screen = Screen(request, visitor, NAME, ward_id)
    with screen.store.read() as session:
        member = read_staff(session, visitor.actor, staff_id)
    values = {
        "name": [member.name],
        "role": [member.role.value],
        "wards": [ALL_WARDS] if member.wards is None else sorted(member.wards),
        "sign_in_name": [member.sign_in_name or ""],
        "active": ["true"] if member.active else [],
    }
    return _form(screen, staff_id, Entry(values))


@router.post("/wards/{ward_id}/staff/{staff_id}")
def change(request: Request, visitor: See, typed: Typed, ward_id: str, staff_id: str) -> Response:
    """Change a member of staff; a new password signs them out everywhere."""
    screen = Screen(request, visitor, NAME, ward_id)
    with screen.store.read() as session:
        read_staff(session, visitor.actor, staff_id)
    return _try(screen, typed, staff_id)


def _try(screen: Screen, typed: Entry, staff_id: str | None) -> Response:
    def act() -> str:
        draft = _draft(typed, staff_id)
        with screen.store.write() as session:
            enter_staff(session, screen.visitor.actor, draft, now=screen.now)
        signed_in_of(screen.request.app).forget_all()
        return ward_href(screen.ward_id or "", "staff")

    def again(wrong: Wrong) -> Response:
        return _form(screen, staff_id, typed, wrong)

    return screen.try_form(typed, act, again)


def _draft(typed: Entry, staff_id: str | None) -> StaffDraft:
    role = typed.choice("role", [value for value, _ in ROLES], required=True)
    wards = typed.all("wards")
    draft = StaffDraft(
        id=staff_id,
        name=typed.text("name", required=True) or "",
        role=Role(role or Role.BEDSIDE_NURSE),
        wards=None if ALL_WARDS in wards else frozenset(wards),
        sign_in_name=typed.text("sign_in_name"),
        password=typed.raw("password") or None,
        active=typed.yes_no("active") is True,
    )
    typed.check()
    return draft


def _form(
    screen: Screen, staff_id: str | None, entry: Entry, wrong: Wrong | None = None
) -> Response:
    ward_id = screen.ward_id or ""
    back = ("Staff", ward_href(ward_id, "staff"))
    sheet = Sheet("Enter a member of staff", back[1], "Enter", back, FIELDS)
    if staff_id is not None:
        href = staff_href(ward_id, staff_id)
        sheet = Sheet("Change a member of staff", href, "Record the change", back, FIELDS)
    around = Surroundings(screen.setting().zone, _lists(screen))
    return screen.form(sheet, entry, around, wrong)


def _lists(screen: Screen) -> dict[str, Options]:
    with screen.store.read() as session:
        wards = list_wards(session, screen.visitor.actor)
    return {"wards": (*((one.id, one.name) for one in wards), (ALL_WARDS, "all wards"))}


def _badge(member: Staff, ward_id: str, badged: frozenset[str]) -> tuple[Cell]:
    """Whether somebody has a badge, and the way to where it is recorded."""
    return (Cell("recorded" if member.id in badged else "none", badge_href(ward_id, member.id)),)


def _account(member: Staff, ward_id: str, linked: frozenset[str]) -> tuple[Cell]:
    """Whether an account of single sign-on is somebody's, and the way to where it is entered."""
    words = "entered" if member.id in linked else "none"
    return (Cell(words, account_href(ward_id, member.id)),)


def _row(member: Staff, ward_id: str, ways: tuple[Cell, ...], *, sets_up: bool) -> Row:
    """One row; `ways` are the cells of the ways in that whoever looks gives."""
    return Row(
        (
            Cell(member.name, staff_href(ward_id, member.id) if sets_up else ""),
            Cell(ROLE[member.role]),
            Cell((member.sign_in_name or "") if sets_up else ""),
            *ways,
            Cell("yes" if member.active else "no"),
        )
    )
