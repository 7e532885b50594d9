"""Cover on a ward: who answers for whom until when, for whom nobody does, and the form for it."""

from typing import Final

from fastapi import APIRouter, Request, Response

from server.domain.audit import SubjectKind
from server.pages.answers import PageRoute
from server.pages.cover_view import CoverageView, coverage_view
from server.pages.forms.entry import Entry, Wrong
from server.pages.forms.fields import Field, Shape
from server.pages.forms.views import Surroundings, field_views, form_errors
from server.pages.links import ward_href
from server.pages.own_list.colleagues import colleague_options
from server.pages.rendering import page
from server.pages.setup_screen import Screen
from server.pages.visitors import See, Typed
from server.services.cover import CoverDraft, cover, end_cover
from server.services.permissions import Act, may
from server.services.read_coverage import Coverage, read_coverage
from server.services.shown import shows
from server.store.sessions import ReadSession, WriteSession

router = APIRouter(route_class=PageRoute, include_in_schema=False)

NAME: Final = "cover"
BREAK: Final = "Left empty: for the planned break that is on or comes next."
FIELDS: Final = (
    Field("covered_id", "Who is away", Shape.CHOICE, given="nurses", required=True, empty="choose"),
    Field("covering_id", "Who covers", Shape.CHOICE, given="nurses", required=True, empty="choose"),
    Field("from_at", "From", Shape.INSTANT, hint=BREAK),
    Field("until_at", "Until", Shape.INSTANT),
    Field("replace", "In place of the cover there is now, if any", Shape.TICK),
)


@router.get("/wards/{ward_id}/cover")
@shows(SubjectKind.COVER, ward="ward_id")
def see_cover(request: Request, visitor: See, ward_id: str) -> Response:
    """Who covers whom on a ward, and for whose units nobody is there."""
    screen = Screen(request, visitor, NAME, ward_id)
    with screen.store.read() as session:
        coverage = read_coverage(session, visitor.actor, ward_id, now=screen.now)
    return _page(screen, Entry({"covered_id": [who_is_away(coverage, visitor.actor.staff_id)]}))


@router.get("/wards/{ward_id}/cover/strip")
@shows(SubjectKind.COVER, ward="ward_id")
def see_strip(request: Request, visitor: See, ward_id: str) -> Response:
    """The same in a line, alone: the board puts it in place."""
    screen = Screen(request, visitor, NAME, ward_id)
    with screen.store.read() as session:
        view = _view(session, screen)
    return page("cover/strip.html", coverage=view, href=ward_href(ward_id, NAME))


@router.post("/wards/{ward_id}/cover")
def enter(request: Request, visitor: See, typed: Typed, ward_id: str) -> Response:
    """Enter a cover."""
    screen = Screen(request, visitor, NAME, ward_id)

    def write(session: WriteSession) -> str:
        cover(session, visitor.actor, _draft(session, screen, typed), now=screen.now)
        return ward_href(ward_id, NAME)

    return screen.try_form(
        typed,
        lambda: screen.write_once(typed, write),
        lambda wrong: _page(screen, typed, wrong),
    )


@router.post("/wards/{ward_id}/cover/{cover_id}/end")
def end(request: Request, visitor: See, typed: Typed, ward_id: str, cover_id: str) -> Response:
    """End a cover early, or take back one that is yet to begin."""
    screen = Screen(request, visitor, NAME, ward_id)

    def write(session: WriteSession) -> str:
        end_cover(session, visitor.actor, cover_id, now=screen.now)
        return ward_href(ward_id, NAME)

    return screen.try_form(
        typed,
        lambda: screen.write_once(typed, write),
        lambda wrong: _page(screen, Entry(), wrong),
    )


def who_is_away(coverage: Coverage, me: str | None) -> str:
    """Who stands in the form: a nurse for whom nobody answers, whoever looks before others."""
    open_ones = [gap.nurse_id for gap in coverage.gaps]
    return me or "" if me in open_ones or not open_ones else open_ones[0]


def _draft(session: ReadSession, screen: Screen, typed: Entry) -> CoverDraft:
    zone, ward_id = screen.setting().zone, screen.ward_id or ""
    day = f"{screen.now.astimezone(zone):%Y-%m-%d}"
    covered = typed.text("covered_id", required=True) or ""
    covering = typed.text("covering_id", required=True) or ""
    from_at = typed.instant("from_at", zone, day=day)
    until_at = typed.instant("until_at", zone, day=typed.raw("from_at_date").strip() or day)
    typed.check()
    replaces = _present(session, screen, covered) if typed.yes_no("replace") else None
    return CoverDraft(ward_id, covering, covered, from_at, until_at, replaces)


def _present(session: ReadSession, screen: Screen, covered: str) -> str | None:
    """The cover of a nurse that is in force or comes next."""
    coverage = read_coverage(session, screen.visitor.actor, screen.ward_id or "", now=screen.now)
    return next((one.id for one in coverage.covers if one.covered_id == covered), None)


def _view(session: ReadSession, screen: Screen) -> CoverageView:
    actor, ward_id = screen.visitor.actor, screen.ward_id or ""
    coverage = read_coverage(session, actor, ward_id, now=screen.now)
    oversees = may(actor, Act.OVERSEE, ward_id)
    return coverage_view(coverage, me=actor.staff_id, oversees=oversees)


def _page(screen: Screen, typed: Entry, wrong: Wrong | None = None) -> Response:
    setting, actor = screen.setting(), screen.visitor.actor
    with screen.store.read() as session:
        view = _view(session, screen)
        nurses = colleague_options(session, setting, screen.now)
    return page(
        "cover/cover.html",
        status=wrong.status if wrong else 200,
        head=screen.head(setting),
        coverage=view,
        fields=field_views(FIELDS, typed, Surroundings(setting.zone, {"nurses": nurses})),
        arranges=may(actor, Act.HAND_OVER, screen.ward_id),
        href=ward_href(screen.ward_id or "", NAME),
        errors=form_errors(typed, wrong.errors) if wrong else {},
        csrf_token=screen.visitor.csrf_token,
    )
