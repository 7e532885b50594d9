"""A report of a period to print: rates, breaches, times, and what became of the units.

Opening one takes away what it tells: it is noted in the audit trail before it is shown, with
whether it names patients.
"""

from typing import Annotated, Final

from fastapi import APIRouter, Query, Request, Response

from server import __version__
from server.domain.audit import SubjectKind
from server.domain.errors import Invalid
from server.domain.review.days import Days
from server.domain.wording import day_text
from server.pages.answers import PageRoute
from server.pages.forms.entry import Entry
from server.pages.forms.period import A_MONTH, last_days, period_of
from server.pages.links import ward_href
from server.pages.rendering import page
from server.pages.reports.read_report import Report, read_report
from server.pages.reports.view import Made, report_view
from server.pages.setup_screen import Screen
from server.pages.visitors import See
from server.pages.ward_setting import ROLE, WardSetting
from server.services.export_sheet import Taken, export_sheet, may_export, require_export
from server.services.shown import shows

router = APIRouter(route_class=PageRoute, include_in_schema=False)

NAME: Final = "report"
WITH, WITHOUT = "with", "without"


@router.get("/wards/{ward_id}/report")
@shows(SubjectKind.REVIEW, ward="ward_id")
def see_report(
    request: Request,
    visitor: See,
    ward_id: str,
    identity: Annotated[str, Query(max_length=10)] = WITHOUT,
) -> Response:
    """The report from one day of the ward to another, both included; a month without them."""
    screen = Screen(request, visitor, NAME, ward_id)
    setting, with_identity = screen.setting(), identity == WITH
    with screen.store.read() as session:
        require_export(session, visitor.actor, ward_id, with_identity=with_identity)
    asked = _asked(screen, setting)
    found = _read(screen, setting, asked)
    made = Made(_by(screen), screen.now, __version__, with_identity)
    if found is not None:
        _note(screen, found, with_identity=with_identity)
    return page(
        "report/report.html",
        status=422 if asked.errors else 200,
        head=screen.head(setting),
        report=None if found is None else report_view(found, made),
        href=ward_href(ward_id, NAME),
        asked=asked,
        errors=asked.errors,
        may_name=may_export(visitor.actor, ward_id, with_identity=True),
        identity=WITH if with_identity else WITHOUT,
    )


def _asked(screen: Screen, setting: WardSetting) -> Entry:
    query = screen.request.query_params
    days = last_days(A_MONTH, screen.now, setting.zone)
    return Entry({name: [query.get(name) or usual] for name, usual in days.items()})


def _read(screen: Screen, setting: WardSetting, asked: Entry) -> Report | None:
    """The report that was asked for, None with the reason noted where there is none."""
    period = period_of(asked, setting.zone)
    first, last = asked.day("from"), asked.day("to")
    if period is None or first is None or last is None:
        return None
    actor, ward_id, days = screen.visitor.actor, screen.ward_id or "", Days(first, last)
    try:
        with screen.store.read() as session:
            return read_report(session, actor, ward_id, period, days, now=screen.now)
    except Invalid as refused:
        asked.refuse(refused.field, refused.message)
        return None


def _note(screen: Screen, found: Report, *, with_identity: bool) -> None:
    days = f"from {day_text(found.days.first)} to {day_text(found.days.last)}"
    rows = len(found.still_open) + len(found.missing)
    taken = Taken("report", SubjectKind.REVIEW, "print", rows, (days,), with_identity)
    with screen.store.write() as session:
        export_sheet(session, screen.visitor.actor, found.ward.id, taken, now=screen.now)


def _by(screen: Screen) -> str:
    actor = screen.visitor.actor
    return f"{actor.name}, {ROLE[actor.role]}"
