"""What became of every unit that came to a ward: the missing ones first, by name."""

from dataclasses import dataclass
from typing import Annotated, Final
from zoneinfo import ZoneInfo

from fastapi import APIRouter, Query, Request, Response

from server.domain.audit import SubjectKind
from server.domain.errors import Invalid
from server.pages.accounts.view import AccountRow, AccountsView, accounts_view, found_rows
from server.pages.answers import PageRoute
from server.pages.forms.entry import Entry
from server.pages.forms.period import A_MONTH, last_days, period_of
from server.pages.links import ward_href
from server.pages.rendering import page
from server.pages.setup_screen import Screen
from server.pages.visitors import See
from server.services.account_for_units import PAGE, account_for_units, find_unit
from server.services.export_sheet import may_export
from server.services.list_double_bags import double_bags_of_ward
from server.services.shown import shows

router = APIRouter(route_class=PageRoute, include_in_schema=False)

NAME: Final = "accounts"
MOST: Final = 10**9

Place = Annotated[int, Query(ge=0, le=MOST)]


@dataclass(frozen=True, slots=True)
class Listed:
    """What is listed: a page of a period with the pages beside it, or the units of a number."""

    view: AccountsView | None = None
    rows: tuple[AccountRow, ...] = ()
    number: str = ""
    earlier: str = ""
    later: str = ""


@router.get("/wards/{ward_id}/accounts")
@shows(SubjectKind.ACCOUNTS, ward="ward_id")
def see_accounts(request: Request, visitor: See, ward_id: str, first: Place = 0) -> Response:
    """The units from one day of the ward to another, a month without them; or those of a number."""
    screen = Screen(request, visitor, NAME, ward_id)
    setting = screen.setting()
    asked = _asked(screen, setting.zone)
    number = asked.text("number")
    listed = (
        _of_period(screen, asked, setting.zone, first)
        if number is None
        else _of_number(screen, asked, number, setting.zone)
    )
    return page(
        "account/accounts.html",
        status=422 if asked.errors else 200,
        head=screen.head(setting),
        listed=listed,
        href=ward_href(ward_id, NAME),
        asked=asked,
        errors=asked.errors,
        exports=_exports(screen, asked),
    )


def _exports(screen: Screen, asked: Entry) -> tuple[tuple[str, str], ...]:
    """Where what is listed can be taken away, for who may."""
    ward_id = screen.ward_id or ""
    if not may_export(screen.visitor.actor, ward_id, with_identity=False):
        return ()
    days = {name: asked.raw(name) for name in ("from", "to")}
    return (
        ("Export", ward_href(ward_id, "exports", what="units", **days)),
        ("Report to print", ward_href(ward_id, "report", **days)),
    )


def _asked(screen: Screen, zone: ZoneInfo) -> Entry:
    """What was asked for; without days, the last thirty."""
    query = screen.request.query_params
    fields = last_days(A_MONTH, screen.now, zone) | {"number": ""}
    return Entry({name: [query.get(name) or usual] for name, usual in fields.items()})


def _of_period(screen: Screen, asked: Entry, zone: ZoneInfo, first: int) -> Listed:
    period = period_of(asked, zone)
    if period is None:
        return Listed()
    actor, ward_id, now = screen.visitor.actor, screen.ward_id or "", screen.now
    try:
        with screen.store.read() as session:
            found = account_for_units(session, actor, ward_id, period, now=now, first=first)
            twice = double_bags_of_ward(session, actor, ward_id, period)
    except Invalid as refused:
        asked.refuse(refused.field, refused.message)
        return Listed()
    view = accounts_view(found, twice, zone, now.astimezone(zone).date())
    is_last = first + len(found.units) >= found.tally.units
    return Listed(
        view,
        view.rows,
        earlier=_address(screen, asked, max(0, first - PAGE)) if first else "",
        later="" if is_last else _address(screen, asked, first + PAGE),
    )


def _of_number(screen: Screen, asked: Entry, number: str, zone: ZoneInfo) -> Listed:
    actor, ward_id = screen.visitor.actor, screen.ward_id or ""
    try:
        with screen.store.read() as session:
            found = find_unit(session, actor, ward_id, number, now=screen.now)
    except Invalid as refused:
        asked.refuse("number", refused.message)
        return Listed()
    return Listed(rows=found_rows(found, zone), number=number)


def _address(screen: Screen, asked: Entry, first: int) -> str:
    days = {name: asked.raw(name) for name in ("from", "to")}
    return ward_href(screen.ward_id or "", NAME, first=f"{first}", **days)
