"""The breaches of a ward, or of all wards of a person: what was not kept, how late, and why."""

from dataclasses import dataclass
from datetime import datetime
from typing import Final
from zoneinfo import ZoneInfo

from fastapi import APIRouter, Request, Response
from fastapi.responses import RedirectResponse

from server.domain.audit import SubjectKind
from server.pages.answers import PageRoute
from server.pages.breach_pages.filters import (
    FIELDS,
    KEPT,
    MORE,
    Choices,
    address,
    read_filters,
    shift_words,
)
from server.pages.breach_pages.list_view import breaches_view
from server.pages.forms.entry import Entry
from server.pages.forms.period import A_WEEK, last_days
from server.pages.links import ward_href
from server.pages.rendering import HEADERS, page
from server.pages.setup_screen import Screen
from server.pages.visitors import See
from server.services.enter_ward import list_wards
from server.services.export_sheet import may_export
from server.services.find_breaches import BreachPage, find_breaches, find_kept
from server.services.shown import shows
from server.store.wards import Ward

router = APIRouter(route_class=PageRoute, include_in_schema=False)

NAME: Final = "breaches"
EVERYWHERE: Final = f"/{NAME}"


@dataclass(frozen=True, slots=True)
class Scope:
    """The wards that a list is about; `one` is the ward of its address, None: all of them."""

    wards: tuple[Ward, ...]
    one: Ward | None

    @property
    def href(self) -> str:
        """The address of the list."""
        return EVERYWHERE if self.one is None else ward_href(self.one.id, NAME)


@router.get("/breaches")
@shows(SubjectKind.BREACHES)
def see_everywhere(request: Request, visitor: See) -> Response:
    """The breaches of all wards of a person; who has one ward, or none, is sent on."""
    screen = Screen(request, visitor, NAME)
    with screen.store.read() as session:
        wards = list_wards(session, visitor.actor)
    if len(wards) > 1:
        return _page(screen, Scope(wards, None))
    href = ward_href(wards[0].id, NAME) if wards else "/wards"
    return RedirectResponse(href, status_code=303, headers=dict(HEADERS))


@router.get("/wards/{ward_id}/breaches")
@shows(SubjectKind.BREACHES, ward="ward_id")
def see_ward(request: Request, visitor: See, ward_id: str) -> Response:
    """The breaches of one ward: of the last week, or of the days and filters of the address."""
    screen = Screen(request, visitor, NAME, ward_id)
    ward = screen.setting().ward
    return _page(screen, Scope(() if ward is None else (ward,), ward))


def _page(screen: Screen, scope: Scope) -> Response:
    setting, now = screen.setting(), screen.now
    query = screen.request.query_params
    entry = Entry({name: query.getlist(name)[:1] for name in FIELDS if name in query})
    asked, found = read_filters(entry, scope.wards, now), None
    if asked is not None:
        find = find_kept if entry.raw("show") == KEPT else find_breaches
        with screen.store.read() as session:
            found = find(session, screen.visitor.actor, asked, now=now)
    everywhere, filled = scope.one is None, _filled(entry, setting.zone, now)
    return page(
        "breaches/breaches.html",
        status=422 if entry.errors else 200,
        head=screen.head_of_all(setting) if everywhere else screen.head(setting),
        view=found and breaches_view(found, entry, scope.href, now, wards=everywhere),
        href=scope.href,
        everywhere=EVERYWHERE if setting.several and not everywhere else "",
        asked=filled,
        export=_export(screen, scope, filled),
        errors=entry.errors,
        choices=_choices(scope, found, entry),
        more=any(entry.raw(name) for name in MORE),
    )


def _export(screen: Screen, scope: Scope, asked: Entry) -> str:
    """Where what is asked for can be taken away, for who may: of the ward, or of all of them."""
    chosen = next((ward for ward in scope.wards if ward.id == asked.raw("ward")), scope.one)
    ward = chosen or next(iter(scope.wards), None)
    if ward is None or not may_export(screen.visitor.actor, ward.id, with_identity=False):
        return ""
    which = {"what": NAME, "wards": "" if chosen else "all"}
    return address(ward_href(ward.id, "exports"), asked, which)


def _filled(entry: Entry, zone: ZoneInfo, now: datetime) -> Entry:
    """What stands in the filters: without days, the week that is shown."""
    week = {name: [day] for name, day in last_days(A_WEEK, now, zone).items()}
    return Entry(week | {name: list(texts) for name, texts in entry.values.items() if any(texts)})


def _choices(scope: Scope, found: BreachPage | None, entry: Entry) -> Choices:
    chosen = entry.raw("shift")
    hours = {*(() if found is None else found.shifts), *([chosen] if chosen else [])}
    return Choices(
        wards=() if scope.one else tuple((ward.id, ward.name) for ward in scope.wards),
        shifts=tuple((one, shift_words(one)) for one in sorted(hours)),
    )
