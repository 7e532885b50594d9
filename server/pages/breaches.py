"""Breaches of a ward in a period: which limits were not kept, by how much, and why."""

from datetime import datetime, timedelta
from typing import Annotated, Final
from zoneinfo import ZoneInfo

from fastapi import APIRouter, Query, Request, Response
from fastapi.responses import RedirectResponse

from server.domain.audit import SubjectKind
from server.domain.wording import CLOCK, COMPONENT, span
from server.domain.words import ClockName
from server.pages.answers import PageRoute
from server.pages.forms.entry import Entry
from server.pages.forms.period import period_of
from server.pages.forms.views import clock_words
from server.pages.links import episode_href, ward_href
from server.pages.rendering import HEADERS, page
from server.pages.setup_screen import Screen
from server.pages.tables import Cell, ListPage, Row
from server.pages.visitors import See
from server.services.list_breaches import BreachRow, list_breaches
from server.services.shown import shows, shows_no_patient

router = APIRouter(route_class=PageRoute, include_in_schema=False)

NAME: Final = "breaches"
A_WEEK: Final = timedelta(days=7)
COLUMNS: Final = ("Unit", "Bed", "Limit", "Passed", ("Late by", "number"), "Cause")

Day = Annotated[str, Query(max_length=10)]


@router.get("/breaches")
@shows_no_patient
def see_first_ward(request: Request, visitor: See) -> Response:
    """Send a person to the breaches of the first of their wards."""
    ward_id = Screen(request, visitor, NAME).setting().ward_id
    href = "/wards" if ward_id is None else ward_href(ward_id, NAME)
    return RedirectResponse(href, status_code=303, headers=dict(HEADERS))


@router.get("/wards/{ward_id}/breaches")
@shows(SubjectKind.BREACHES, ward="ward_id")
def see_breaches(
    request: Request,
    visitor: See,
    ward_id: str,
    first: Annotated[str, Query(alias="from", max_length=10)] = "",
    last: Annotated[str, Query(alias="to", max_length=10)] = "",
    clock: Annotated[str, Query(max_length=20)] = "",
) -> Response:
    """The breaches from one day of the ward to another, both included; a week without them."""
    screen = Screen(request, visitor, NAME, ward_id)
    setting = screen.setting()
    today = screen.now.astimezone(setting.zone).date()
    days = (first or f"{today - A_WEEK}", last or f"{today}")
    asked = Entry({"from": [days[0]], "to": [days[1]], "clock": [clock]})
    period = period_of(asked, setting.zone)
    wanted = asked.choice("clock", [one.value for one in ClockName])
    found: tuple[BreachRow, ...] = ()
    if period is not None and not asked.errors:
        with screen.store.read() as session:
            found = list_breaches(
                session,
                visitor.actor,
                ward_id,
                period,
                now=screen.now,
                clock=None if wanted is None else ClockName(wanted),
            )
    return page(
        "breaches/breaches.html",
        status=422 if asked.errors else 200,
        head=screen.head(setting),
        listed=_listed(found, setting.zone, screen.now),
        href=ward_href(ward_id, NAME),
        asked=asked,
        errors=asked.errors,
        clocks=tuple((one.value, words) for one, words in CLOCK.items()),
        summary=_summary(found),
    )


def _listed(found: tuple[BreachRow, ...], zone: ZoneInfo, now: datetime) -> ListPage:
    return ListPage(
        title="Breaches",
        caption="Limits that were not kept, the earliest first",
        columns=COLUMNS,
        rows=tuple(_row(one, zone, now) for one in found),
        empty="No limit was passed in this period",
    )


def _row(found: BreachRow, zone: ZoneInfo, now: datetime) -> Row:
    request, breach = found.picture.case.request, found.breach
    late = breach.late_minutes
    n = "" if breach.n == 1 else f" {breach.n}"
    soft = breach.cause_text or ("" if breach.cause else "none given")
    return Row(
        (
            Cell(
                found.picture.case.patient.full_name,
                episode_href(request.id),
                soft=COMPONENT[request.component],
            ),
            Cell(request.bed),
            Cell(f"{CLOCK[breach.clock]}{n}"),
            Cell(clock_words(breach.limit_at, zone, now)),
            Cell("missed" if late is None else span(max(1, round(late))), kind="number"),
            Cell(breach.cause or "", soft=soft),
        )
    )


def _summary(found: tuple[BreachRow, ...]) -> str:
    """How many, and how many of them have no cause yet."""
    if not found:
        return ""
    causeless = sum(one.breach.cause is None for one in found)
    units = len({one.picture.case.request.id for one in found})
    many = "1 breach" if len(found) == 1 else f"{len(found)} breaches"
    return f"{many} on {units} {'unit' if units == 1 else 'units'}, {causeless} without a cause."
