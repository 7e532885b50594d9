"""Wards: list, enter, change; a new policy judges what is issued from then on."""

from typing import Final
from zoneinfo import available_timezones

from fastapi import APIRouter, Request, Response

from server.pages.answers import PageRoute
from server.pages.forms.entry import Entry, Wrong
from server.pages.forms.fields import Field, Options, Shape
from server.pages.forms.views import Surroundings
from server.pages.links import ward_href
from server.pages.setup_screen import Screen
from server.pages.tables import Cell, ListPage, Row, Sheet, list_page
from server.pages.visitors import See, Typed, signed_in_of
from server.services.enter_ward import (
    WardDraft,
    enter_ward,
    list_wards,
    read_ward,
    read_ward_policy,
)
from server.services.permissions import Act, may, require
from server.services.shown import shows_no_patient

router = APIRouter(route_class=PageRoute, include_in_schema=False)

NAME: Final = "wards"
BACK: Final = ("Wards", "/wards")
UNITS: Final = (("C", "°C"), ("F", "°F"))
FIELDS: Final = (
    Field("name", "Name", required=True),
    Field(
        "policy",
        "Policy",
        Shape.CHOICE,
        given="policies",
        required=True,
        empty="choose",
        hint="Judges what is issued from now on. What was issued before keeps its own.",
    ),
    Field("timezone", "Time zone", Shape.CHOICE, given="zones", required=True, empty="choose"),
    Field("temperature_unit", "Temperatures in", Shape.PICK, options=UNITS, required=True),
    Field(
        "next_contact",
        "Next contact",
        hint="Who is told when nobody on the ward answers a reminder.",
    ),
)


@router.get("/wards")
@shows_no_patient
def see_wards(request: Request, visitor: See) -> Response:
    """The wards of the person, each with its board."""
    screen = Screen(request, visitor, NAME)
    setting, sets_up = screen.setting(), may(visitor.actor, Act.SET_UP)
    with screen.store.read() as session:
        wards = list_wards(session, visitor.actor)
        policies = {one.id: read_ward_policy(session, one.id, now=screen.now) for one in wards}
    rows = tuple(
        Row(
            (
                Cell(one.name, ward_href(one.id, "board")),
                Cell(policies[one.id].title, f"/policies/{policies[one.id].name}"),
                Cell(one.timezone),
                Cell(dict(UNITS)[one.temperature_unit]),
                Cell(one.next_contact or ""),
                Cell("Change" if sets_up else "", ward_href(one.id, "settings") if sets_up else ""),
            )
        )
        for one in wards
    )
    listed = ListPage(
        title="Wards",
        caption="Wards by name",
        columns=("Ward", "Policy", "Time zone", "Temperatures", "Next contact", ""),
        rows=rows,
        empty="No ward has been entered yet." if sets_up else "You are not on any ward yet.",
        actions=(("Enter a ward", "/wards/new"),) if sets_up else (),
    )
    return list_page(screen.head(setting), listed)


@router.get("/wards/new")
@shows_no_patient
def see_new_ward(request: Request, visitor: See) -> Response:
    """The form to enter a ward."""
    require(visitor.actor, Act.SET_UP)
    values = {"policy": ["common"], "temperature_unit": ["C"]}
    return _form(Screen(request, visitor, NAME), _sheet(None), Entry(values))


@router.post("/wards")
def enter(request: Request, visitor: See, typed: Typed) -> Response:
    """Enter a ward."""
    return _try(Screen(request, visitor, NAME), typed, None)


@router.get("/wards/{ward_id}/settings")
@shows_no_patient
def see_ward(request: Request, visitor: See, ward_id: str) -> Response:
    """The form to change a ward."""
    require(visitor.actor, Act.SET_UP)
    screen = Screen(request, visitor, NAME)
    with screen.store.read() as session:
        ward = read_ward(session, visitor.actor, ward_id)
        policy = read_ward_policy(session, ward_id, now=screen.now)
    values = {
        "name": [ward.name],
        "policy": [policy.name],
        "timezone": [ward.timezone],
        "temperature_unit": [ward.temperature_unit],
        "next_contact": [ward.next_contact or ""],
    }
    return _form(screen, _sheet(ward_id), Entry(values))


@router.post("/wards/{ward_id}/settings")
def change(request: Request, visitor: See, typed: Typed, ward_id: str) -> Response:
    """Change a ward."""
    screen = Screen(request, visitor, NAME)
    with screen.store.read() as session:
        read_ward(session, visitor.actor, ward_id)
    return _try(screen, typed, ward_id)


def _try(screen: Screen, typed: Entry, ward_id: str | None) -> Response:
    def act() -> str:
        draft = WardDraft(
            id=ward_id,
            name=typed.text("name", required=True) or "",
            policy=typed.text("policy", required=True) or "",
            timezone=typed.text("timezone", required=True) or "",
            temperature_unit=typed.raw("temperature_unit"),
            next_contact=typed.text("next_contact"),
        )
        typed.check()
        policies = screen.request.app.state.policies
        with screen.store.write() as session:
            enter_ward(session, screen.visitor.actor, draft, policies, now=screen.now)
        signed_in_of(screen.request.app).forget_all()  # a new ward is theirs from now on
        return "/wards"

    def again(wrong: Wrong) -> Response:
        return _form(screen, _sheet(ward_id), typed, wrong)

    return screen.try_form(typed, act, again)


def _sheet(ward_id: str | None) -> Sheet:
    if ward_id is None:
        return Sheet("Enter a ward", "/wards", "Enter the ward", BACK, FIELDS)
    return Sheet("Change a ward", ward_href(ward_id, "settings"), "Record the change", BACK, FIELDS)


def _form(screen: Screen, sheet: Sheet, entry: Entry, wrong: Wrong | None = None) -> Response:
    around = Surroundings(screen.setting().zone, _lists(screen))
    return screen.form(sheet, entry, around, wrong)


def _lists(screen: Screen) -> dict[str, Options]:
    policies = screen.request.app.state.policies.values()
    zones = sorted(zone for zone in available_timezones() if "/" in zone or zone == "UTC")
    return {
        "policies": tuple((one.name, f"{one.title} ({one.name})") for one in policies),
        "zones": tuple((zone, zone.replace("_", " ")) for zone in zones),
    }
