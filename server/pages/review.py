"""The review of a ward, or of all wards of a person: what was kept, and whether it changes."""

from dataclasses import dataclass
from typing import Final

from fastapi import APIRouter, Request, Response
from fastapi.responses import RedirectResponse

from server.domain.errors import Invalid
from server.pages.answers import PageRoute
from server.pages.forms.entry import Entry, Wrong
from server.pages.links import asking, ward_href
from server.pages.rendering import HEADERS, page
from server.pages.reviews.changes_view import ChangeForm, note_href
from server.pages.reviews.filters import (
    BYS,
    CLOCKS,
    COMPONENTS,
    FIELDS,
    Wanted,
    filled,
    hidden,
    presets,
    read_filters,
)
from server.pages.reviews.review_view import (
    ReviewView,
    Surroundings,
    exports_href,
    review_view,
)
from server.pages.setup_screen import Screen
from server.pages.visitors import See, Typed
from server.pages.ward_setting import WardSetting
from server.services.enter_ward import list_wards
from server.services.note_ward_change import note_ward_change, withdraw_ward_change
from server.services.permissions import Act, may
from server.services.review_period import review_period
from server.services.shown import shows_no_patient
from server.services.ward_day import day_at
from server.store.sessions import WriteSession

router = APIRouter(route_class=PageRoute, include_in_schema=False)

NAME: Final = "review"
EVERYWHERE: Final = f"/{NAME}"


@dataclass(frozen=True, slots=True)
class Way:
    """A link to where the same days are told of otherwise."""

    text: str
    href: str


@router.get("/review")
@shows_no_patient
def see_everywhere(request: Request, visitor: See) -> Response:
    """The review of all wards of a person; who has one ward, or none, is sent on."""
    screen = Screen(request, visitor, NAME)
    with screen.store.read() as session:
        wards = list_wards(session, visitor.actor)
    if len(wards) > 1:
        return _page(screen)
    href = ward_href(wards[0].id, NAME) if wards else "/wards"
    return RedirectResponse(href, status_code=303, headers=dict(HEADERS))


@router.get("/wards/{ward_id}/review")
@shows_no_patient
def see_ward(request: Request, visitor: See, ward_id: str) -> Response:
    """The review of a ward: of the last twelve weeks, or of the days of the address."""
    return _page(Screen(request, visitor, NAME, ward_id))


@router.post("/wards/{ward_id}/review/changes")
def note_change(request: Request, visitor: See, typed: Typed, ward_id: str) -> Response:
    """Note that the ward changed how it works from a day on."""
    screen = Screen(request, visitor, NAME, ward_id)

    def write(session: WriteSession) -> str:
        day, text = typed.day("day", required=True), typed.text("text", required=True)
        typed.check()
        if day is not None and text is not None:
            note_ward_change(session, visitor.actor, ward_id, day, text, now=screen.now)
        return _back(typed, ward_id)

    return screen.try_form(
        typed, lambda: screen.write_once(typed, write), lambda wrong: _page(screen, typed, wrong)
    )


@router.post("/wards/{ward_id}/review/changes/{change_id}/withdraw")
def withdraw_change(
    request: Request, visitor: See, typed: Typed, ward_id: str, change_id: str
) -> Response:
    """Withdraw a change that was noted by mistake."""
    screen = Screen(request, visitor, NAME, ward_id)

    def write(session: WriteSession) -> str:
        withdraw_ward_change(session, visitor.actor, change_id, now=screen.now)
        return _back(typed, ward_id)

    return screen.try_form(
        typed, lambda: screen.write_once(typed, write), lambda wrong: _page(screen, typed, wrong)
    )


def _back(typed: Entry, ward_id: str) -> str:
    """The review as it was asked for when the form was drawn."""
    asked = {name: typed.raw(name) for name in FIELDS}
    return ward_href(ward_id, NAME, **asked)


def _page(screen: Screen, typed: Entry | None = None, wrong: Wrong | None = None) -> Response:
    """The page; after a form that was refused with what was typed and why."""
    setting = screen.setting()
    today = day_at(screen.now, setting.zone)
    entry = _asked(screen, typed)
    wanted = read_filters(entry, today)
    href = EVERYWHERE if screen.ward_id is None else ward_href(screen.ward_id, NAME)
    view = None if wanted is None else _view(screen, setting, entry, wanted, href)
    status = wrong.status if wrong else 422 if entry.errors else 200
    return page(
        "review/review.html",
        status=status,
        head=screen.head(setting) if screen.ward_id else screen.head_of_all(setting),
        view=view,
        href=href,
        everywhere=EVERYWHERE if setting.several and screen.ward_id is not None else "",
        asked=filled(entry, wanted),
        errors=entry.errors,
        choices={"by": BYS, "clocks": CLOCKS, "components": COMPONENTS},
        presets=presets(href, wanted, today),
        ways=() if wanted is None else _ways(screen, setting, wanted),
        form=_form(screen, typed or Entry({"day": [f"{today}"]}), wanted, wrong),
    )


def _asked(screen: Screen, typed: Entry | None) -> Entry:
    if typed is not None:
        return Entry({name: [typed.raw(name)] for name in FIELDS if typed.raw(name)})
    query = screen.request.query_params
    return Entry({name: query.getlist(name)[:1] for name in FIELDS if query.get(name)})


def _view(
    screen: Screen, setting: WardSetting, entry: Entry, wanted: Wanted, href: str
) -> ReviewView | None:
    """The review, None with the reason noted where there can be none."""
    actor, one = screen.visitor.actor, screen.ward_id is not None
    try:
        with screen.store.read() as session:
            review = review_period(session, actor, screen.ward_id, wanted.asked, now=screen.now)
            audits = session.site.audits
    except Invalid as refused:
        entry.refuse(refused.field, refused.message)
        return None
    policy = setting.policy
    around = Surroundings(
        href=href,
        breaches=_breaches_href(screen.ward_id),
        start_target=policy.start_target if one and policy is not None else None,
        audits=audits,
        actor=actor,
    )
    return review_view(review, wanted, around)


def _breaches_href(ward_id: str | None) -> str:
    return "/breaches" if ward_id is None else ward_href(ward_id, "breaches")


def _ways(screen: Screen, setting: WardSetting, wanted: Wanted) -> tuple[Way, ...]:
    """Where the same days are told of otherwise."""
    ward_id, days = screen.ward_id, wanted.asked.days
    period = {"from": f"{days.first}", "to": f"{days.last}"}
    breaches = Way("Breaches", asking(_breaches_href(ward_id), period))
    files = may(screen.visitor.actor, Act.EXPORT, ward_id)
    if ward_id is None:
        from_here = setting.ward_id if files else None
        return (breaches, *(_files_of_all(from_here, wanted) if from_here else ()))
    return (
        breaches,
        Way("Accounted for", ward_href(ward_id, "accounts", **period)),
        Way("Replay", ward_href(ward_id, "replay")),
        *(_files(ward_id, wanted, period) if files else ()),
    )


def _files_of_all(ward_id: str, wanted: Wanted) -> tuple[Way, ...]:
    return (Way("Take away as files", exports_href(ward_id, wanted, everywhere=True)),)


def _files(ward_id: str, wanted: Wanted, period: dict[str, str]) -> tuple[Way, ...]:
    return (
        Way("Take away as a file", exports_href(ward_id, wanted)),
        Way("Report to print", ward_href(ward_id, "report", **period)),
    )


def _form(
    screen: Screen, typed: Entry, wanted: Wanted | None, wrong: Wrong | None
) -> ChangeForm | None:
    """The form that notes a change, None for who may not."""
    if screen.ward_id is None or wanted is None:
        return None
    if not may(screen.visitor.actor, Act.NOTE_CHANGE, screen.ward_id):
        return None
    return ChangeForm(
        href=note_href(screen.ward_id),
        csrf_token=screen.visitor.csrf_token,
        hidden=hidden(wanted),
        day=typed.raw("day"),
        text=typed.raw("text"),
        errors={} if wrong is None else wrong.errors,
    )
