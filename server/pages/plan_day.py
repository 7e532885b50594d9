"""Duty of a day: who is on, for what and with which beds; what the ward allows; its own minutes."""

from datetime import date, timedelta
from typing import Final

from fastapi import APIRouter, Request, Response

from server.domain.errors import Invalid
from server.pages.answers import PageRoute
from server.pages.days.day_draft import read_typed_day, told
from server.pages.days.day_fields import SEEN, day_values, seen_of
from server.pages.days.day_view import day_table, day_view, limit_words
from server.pages.days.learnt_view import LearntRow, learnt_rows
from server.pages.forms.entry import Entry, Wrong
from server.pages.forms.views import form_errors
from server.pages.links import day_href, plan_href
from server.pages.rendering import page
from server.pages.setup_screen import Screen
from server.pages.visitors import See, Typed
from server.services.copy_day import copy_day
from server.services.enter_day import enter_day, use_learnt
from server.services.permissions import Act, may, require
from server.services.read_day import Day, read_day
from server.services.read_learnt import BEHIND, MOST_UNITS, read_learnt
from server.services.shown import shows_no_patient
from server.services.ward_day import day_at
from server.store.sessions import ReadSession, WriteSession

router = APIRouter(route_class=PageRoute, include_in_schema=False)

NAME: Final = "plan"
PATH: Final = "/wards/{ward_id}/plan/day"
FARTHEST: Final = timedelta(days=366)
_ONE: Final = timedelta(days=1)
CHANGED: Final = (
    "Somebody changed this day meanwhile. Nothing was recorded; what you typed is kept. Open the "
    "day anew to see what changed, or record it as it stands here."
)
DONE: Final = {
    "recorded": "The day is recorded.",
    "copied": "The day before is copied. Whoever had a shift kept it.",
    "learnt": "What plans count with is changed.",
}


@router.get(PATH)
@shows_no_patient
def see_day(request: Request, visitor: See, ward_id: str) -> Response:
    """The duty of a day, by default of today: a form for who plans staff, a table for others."""
    screen = Screen(request, visitor, NAME, ward_id)
    asked = Entry({name: [text] for name, text in request.query_params.items()})
    return _page(screen, _day_of(screen, asked), done=DONE.get(asked.raw("done"), ""))


@router.post(PATH)
def record(request: Request, visitor: See, typed: Typed, ward_id: str) -> Response:
    """Record a day as it was typed, all of it or nothing."""
    screen = Screen(request, visitor, NAME, ward_id)
    day = _day_of(screen, typed)

    def write(session: WriteSession) -> str:
        require(visitor.actor, Act.PLAN_STAFF, ward_id)
        _enter(session, screen, typed, day)
        return day_href(ward_id, f"{day}", "recorded")

    return screen.try_form(
        typed,
        lambda: screen.write_once(typed, write),
        lambda wrong: _page(screen, day, typed, wrong),
    )


@router.post(f"{PATH}/copy")
def copy(request: Request, visitor: See, typed: Typed, ward_id: str) -> Response:
    """Copy the day before; whoever has a shift keeps it."""
    screen = Screen(request, visitor, NAME, ward_id)
    day = _day_of(screen, typed)

    def write(session: WriteSession) -> str:
        copy_day(
            session,
            visitor.actor,
            ward_id,
            from_day=day - _ONE,
            to_day=day,
            now=screen.now,
        )
        return day_href(ward_id, f"{day}", "copied")

    return screen.try_form(
        typed,
        lambda: screen.write_once(typed, write),
        lambda wrong: _page(screen, day, wrong=wrong),
    )


@router.post(f"{PATH}/learnt")
def switch_learnt(request: Request, visitor: See, typed: Typed, ward_id: str) -> Response:
    """Have plans count with the ward's own minutes, or with the policy's again."""
    screen = Screen(request, visitor, NAME, ward_id)
    day = _day_of(screen, typed)

    def write(session: WriteSession) -> str:
        on = typed.yes_no("learnt") is True
        use_learnt(session, visitor.actor, ward_id, learnt=on, now=screen.now)
        return f"{day_href(ward_id, f'{day}', 'learnt')}#own-minutes"

    return screen.try_form(
        typed,
        lambda: screen.write_once(typed, write),
        lambda wrong: _page(screen, day, wrong=wrong),
    )


def _day_of(screen: Screen, asked: Entry) -> date:
    """The day that is asked for, by default the ward's today. Raises `Wrong`."""
    today = day_at(screen.now, screen.setting().zone)
    day = asked.day("day")
    if day is not None and abs(day - today) > FARTHEST:
        asked.refuse("day", "is more than a year away; expected a day nearer to today")
    asked.check()
    return day or today


def _enter(session: WriteSession, screen: Screen, typed: Entry, day: date) -> None:
    """Enter the day. Raises `Wrong`, each refusal beside its field."""
    actor, ward_id = screen.visitor.actor, screen.ward_id or ""
    stored = read_day(session, actor, ward_id, day, now=screen.now)
    if typed.raw(SEEN) not in ("", seen_of(stored)):
        raise Wrong({"form": CHANGED}, status=409)
    read = read_typed_day(typed, stored)
    try:
        enter_day(session, actor, read.draft, now=screen.now)
    except Invalid as wrong:
        field = read.fields.get(wrong.field, wrong.field)
        raise Wrong({field: wrong.message}) from wrong


def _page(
    screen: Screen,
    day: date,
    typed: Entry | None = None,
    wrong: Wrong | None = None,
    *,
    done: str = "",
) -> Response:
    actor, ward_id = screen.visitor.actor, screen.ward_id or ""
    setting = screen.setting()
    with screen.store.read() as session:
        stored = read_day(session, actor, ward_id, day, now=screen.now)
        learnt = _learnt(session, screen, stored)
    fresh = day_values(stored)
    entry = Entry(fresh) if typed is None else Entry({**typed.values, SEEN: fresh[SEEN]})
    errors = form_errors(entry, wrong.errors) if wrong else {}
    return page(
        "day/day.html",
        status=wrong.status if wrong else 200,
        head=screen.head(setting),
        view=day_view(stored, day_at(screen.now, stored.zone), entry, errors),
        typed=entry,
        enters=may(actor, Act.PLAN_STAFF, ward_id),
        table=day_table(stored),
        allowed=limit_words(stored.limits),
        learnt=learnt,
        most=MOST_UNITS,
        behind=BEHIND,
        uses_learnt=stored.limits.use_learnt,
        href=day_href(ward_id),
        plan=plan_href(ward_id),
        done=done,
        errors=errors,
        summary=told(errors, entry, stored),
        csrf_token=screen.visitor.csrf_token,
    )


def _learnt(session: ReadSession, screen: Screen, day: Day) -> tuple[LearntRow, ...]:
    """The ward's own minutes, for who may have plans use them."""
    actor, ward_id, policy = screen.visitor.actor, screen.ward_id or "", screen.setting().policy
    if policy is None or not may(actor, Act.USE_LEARNT, ward_id):
        return ()
    found = read_learnt(session, actor, ward_id, now=screen.now)
    return learnt_rows(found, policy, use_learnt=day.limits.use_learnt)
