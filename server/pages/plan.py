"""The plan of a ward: everybody's work on one axis with the units that wait, and its versions."""

from typing import Annotated, Any, Final

from fastapi import APIRouter, Query, Request, Response

from server.domain.audit import SubjectKind
from server.pages.answers import PageRoute
from server.pages.forms.entry import Entry
from server.pages.links import plan_href
from server.pages.plans.changing import UNIT, change_of
from server.pages.plans.plan_page import NAME, VERSION, plan_page
from server.pages.row_view import dom_key
from server.pages.setup_screen import Screen
from server.pages.visitors import See, Typed
from server.services.accept_plan import accept_plan, discard_plan, plan_of
from server.services.change_plan import change_plan
from server.services.shown import shows
from server.services.take_over_plan import take_over_plan
from server.store.sessions import WriteSession

router = APIRouter(route_class=PageRoute, include_in_schema=False)

PATH: Final = "/wards/{ward_id}/plan"
Asked = Annotated[str, Query(max_length=200)]


@router.get(PATH)
@shows(SubjectKind.PLAN, ward="ward_id")
def see_plan(
    request: Request, visitor: See, ward_id: str, version: Asked = "", unit: Asked = ""
) -> Response:
    """The plan in force or another version; `unit` opens the form of one, `at` looks ahead."""
    asked = Entry({name: [text] for name, text in request.query_params.items()})
    screen = Screen(request, visitor, NAME, ward_id)
    return plan_page(screen, asked, version=version, unit=unit)


@router.post(f"{PATH}/change")
def change(request: Request, visitor: See, typed: Typed, ward_id: str) -> Response:
    """Change one unit by hand: what comes of it is a version of its own."""
    screen = Screen(request, visitor, NAME, ward_id)

    def write(session: WriteSession) -> str:
        before = plan_of(session, visitor.actor, typed.raw(VERSION))
        asked = change_of(typed, before, screen.setting().zone)
        after = change_plan(session, visitor.actor, before.id, asked, now=screen.now)
        unit = asked.episode_id
        return f"{plan_href(after.ward_id, after.id, unit)}#unit-{dom_key(unit)}"

    return _tried(screen, typed, write)


@router.post(f"{PATH}/accept")
def accept(request: Request, visitor: See, typed: Typed, ward_id: str) -> Response:
    """Put a version in force."""
    screen = Screen(request, visitor, NAME, ward_id)

    def write(session: WriteSession) -> str:
        accept_plan(session, visitor.actor, typed.raw(VERSION), now=screen.now)
        return plan_href(ward_id)

    return _tried(screen, typed, write)


@router.post(f"{PATH}/take-over")
def take_over(request: Request, visitor: See, typed: Typed, ward_id: str) -> Response:
    """Propose the starts of a supposed version for the ward as it is."""
    screen = Screen(request, visitor, NAME, ward_id)

    def write(session: WriteSession) -> str:
        after = take_over_plan(session, visitor.actor, typed.raw(VERSION), now=screen.now)
        return plan_href(after.ward_id, after.id)

    return _tried(screen, typed, write)


@router.post(f"{PATH}/discard")
def discard(request: Request, visitor: See, typed: Typed, ward_id: str) -> Response:
    """Have a version wanted no more: a proposal, a repair, or the plan in force."""
    screen = Screen(request, visitor, NAME, ward_id)

    def write(session: WriteSession) -> str:
        discard_plan(session, visitor.actor, typed.raw(VERSION), now=screen.now)
        return plan_href(ward_id)

    return _tried(screen, typed, write)


def _tried(screen: Screen, typed: Entry, write: Any) -> Response:
    """Refused: the same version with what was typed and why."""
    return screen.try_form(
        typed,
        lambda: screen.write_once(typed, write),
        lambda wrong: plan_page(
            screen, typed, version=typed.raw(VERSION), unit=typed.raw(UNIT), wrong=wrong
        ),
    )
