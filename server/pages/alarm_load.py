"""Alarm load: how many reminders a ward raised in a period, and what came of them."""

from typing import Annotated, Final
from zoneinfo import ZoneInfo

from fastapi import APIRouter, Query, Request, Response

from server.domain.errors import Invalid
from server.pages.alarm_load_view import LoadView, load_view
from server.pages.answers import PageRoute
from server.pages.forms.entry import Entry
from server.pages.forms.period import A_WEEK, last_days, period_of
from server.pages.links import ward_href
from server.pages.rendering import page
from server.pages.setup_screen import Screen
from server.pages.visitors import See
from server.services.permissions import Act, require
from server.services.read_alarm_load import read_alarm_load
from server.services.shown import shows_no_patient

router = APIRouter(route_class=PageRoute, include_in_schema=False)

NAME: Final = "alarm-load"


@router.get("/wards/{ward_id}/alarm-load")
@shows_no_patient
def see_alarm_load(
    request: Request,
    visitor: See,
    ward_id: str,
    first: Annotated[str, Query(alias="from", max_length=10)] = "",
    last: Annotated[str, Query(alias="to", max_length=10)] = "",
) -> Response:
    """The load from one day of the ward to another, both included; a week without them."""
    screen = Screen(request, visitor, NAME, ward_id)
    setting = screen.setting()
    require(visitor.actor, Act.WEIGH_ALARMS, ward_id)
    week = last_days(A_WEEK, screen.now, setting.zone)
    asked = Entry({"from": [first or week["from"]], "to": [last or week["to"]]})
    view = _view(screen, asked, setting.zone)
    return page(
        "alarm_load/alarm_load.html",
        status=422 if asked.errors else 200,
        head=screen.head(setting),
        view=view,
        href=ward_href(ward_id, NAME),
        asked=asked,
        errors=asked.errors,
    )


def _view(screen: Screen, asked: Entry, zone: ZoneInfo) -> LoadView | None:
    """The load of what was asked for, None with the reason noted where it is no period."""
    period = period_of(asked, zone)
    if period is None:
        return None
    try:
        with screen.store.read() as session:
            actor, ward_id = screen.visitor.actor, screen.ward_id or ""
            found = read_alarm_load(session, actor, ward_id, period, now=screen.now)
    except Invalid as refused:
        asked.refuse(refused.field, refused.message)
        return None
    return load_view(found)
