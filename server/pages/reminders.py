"""Reminders of a ward: what is owed and was said so, with one touch to say "I have it"."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import timedelta
from typing import Annotated, Final

from fastapi import APIRouter, Query, Request, Response

from server.domain.alarm import MARK, OF_STATE, Alarm
from server.domain.audit import SubjectKind
from server.domain.clock import Clock
from server.domain.wording import COMPONENT, RECIPIENT, dated_time
from server.domain.words import ClockName, ClockState, Recipient, Stage
from server.pages.answers import PageRoute
from server.pages.counted import Moment, count_text
from server.pages.episodes.clock_rows import STATE, clock_name
from server.pages.forms.entry import Entry, Wrong
from server.pages.links import episode_href, ward_href
from server.pages.page_head import iso
from server.pages.rendering import page
from server.pages.setup_screen import Screen
from server.pages.visitors import See, Typed
from server.pages.ward_setting import WardSetting
from server.services.acknowledge import acknowledge as give_acknowledgement
from server.services.enter_staff import list_staff
from server.services.list_due import DueItem, list_due
from server.services.list_reminders import Key, furthest_stages, list_reminders
from server.services.permissions import Act, may
from server.services.shown import shows
from server.store.reminders import RaisedReminder
from server.store.sessions import WriteSession

router = APIRouter(route_class=PageRoute, include_in_schema=False)

NAME: Final = "reminders"
LOOK_BACK: Final = timedelta(hours=48)
STAGE: Final = {
    Stage.NOTICE: "said before it is due",
    Stage.DUE: "said when due",
    Stage.OVERDUE: "said at the limit",
    Stage.ESCALATE: "escalated",
    Stage.SECOND_ESCALATE: "escalated again",
}

Nurse = Annotated[str, Query(max_length=200)]


@dataclass(frozen=True, slots=True)
class OwedRow:
    """One clock that a reminder was raised for and that is still owed."""

    bed: str
    name: str
    unit: str
    href: str
    clock: str
    words: str
    state: str
    priority: str
    mark: str
    moment: Moment
    said: str
    held: str
    episode_id: str
    nurse: str


@router.get("/wards/{ward_id}/reminders")
@shows(SubjectKind.REMINDERS, ward="ward_id")
def see_reminders(request: Request, visitor: See, ward_id: str, nurse: Nurse = "") -> Response:
    """What is owed on a ward and was said so; `nurse` shows one nurse's units only."""
    return _page(Screen(request, visitor, NAME, ward_id), nurse)


@router.post("/wards/{ward_id}/reminders")
def acknowledge(request: Request, visitor: See, typed: Typed, ward_id: str) -> Response:
    """Say "I have it" of one clock; it never meets the clock."""
    screen, nurse = Screen(request, visitor, NAME, ward_id), typed.raw("nurse")

    def write(session: WriteSession) -> str:
        clock = typed.choice("clock", [one.value for one in ClockName], required=True)
        episode_id = typed.text("episode_id", required=True)
        typed.check()
        name = ClockName(clock or "")
        give_acknowledgement(session, visitor.actor, episode_id or "", name, now=screen.now)
        return ward_href(ward_id, NAME, **({"nurse": nurse} if nurse else {}))

    return screen.try_form(
        typed,
        lambda: screen.write_once(typed, write),
        lambda wrong: _page(screen, nurse, typed, wrong),
    )


def _page(
    screen: Screen, nurse: str, typed: Entry | None = None, wrong: Wrong | None = None
) -> Response:
    setting, actor = screen.setting(), screen.visitor.actor
    ward_id, now = screen.ward_id or "", screen.now
    with screen.store.read() as session:
        raised = list_reminders(session, actor, ward_id, since=now - LOOK_BACK)
        due = list_due(session, actor, ward_id, now=now, nurse_id=nurse or None)
        names = {one.id: one.name for one in list_staff(session, actor, ward_id)}
    said = furthest_stages(raised)
    rows = [
        _row(item, said[key], names, setting, screen)
        for item in due
        if (key := _key_of(item)) in said
    ]
    return page(
        "reminders/reminders.html",
        status=wrong.status if wrong else 200,
        head=screen.head(setting),
        rows=rows,
        nurse=nurse,
        mine=actor.staff_id or "",
        href=ward_href(ward_id, NAME),
        charts=may(actor, Act.CHART, ward_id),
        errors={**(typed.errors if typed else {}), **wrong.errors} if wrong else {},
        csrf_token=screen.visitor.csrf_token,
    )


def _key_of(item: DueItem) -> Key:
    return (item.picture.case.request.id, item.clock.name, item.clock.n)


def _row(
    item: DueItem,
    said: RaisedReminder,
    names: dict[str, str],
    setting: WardSetting,
    screen: Screen,
) -> OwedRow:
    request = item.picture.case.request
    priority = OF_STATE.get(item.state, Alarm.LOW)
    nurse_id = item.picture.episode.nurse_id
    held = item.acknowledged_by
    raised = dated_time(said.raised_at, setting.zone, screen.now)
    return OwedRow(
        bed=request.bed,
        name=item.picture.case.patient.full_name,
        unit=COMPONENT[request.component],
        href=episode_href(request.id),
        clock=item.clock.name.value,
        words=clock_name(item.clock),
        state="soon" if item.state in _EARLY else STATE[item.state],
        priority=priority,
        mark=MARK[priority],
        moment=_moment(item.clock, item, setting, screen),
        said=f"{STAGE[said.stage]} to {told_to(said.to, names)}, {raised}",
        held="" if held is None else f"{names.get(held, held)} has it",
        episode_id=request.id,
        nurse="" if nurse_id is None else names.get(nurse_id, nurse_id),
    )


def told_to(to: str, names: Mapping[str, str]) -> str:
    """Answer whom it was said to: a person, the words for a role, or the ward's own contact."""
    return names.get(to) or (RECIPIENT[Recipient(to)] if to in set(Recipient) else to)


_EARLY: Final = frozenset({ClockState.PENDING, ClockState.OPEN})


def _moment(clock: Clock, item: DueItem, setting: WardSetting, screen: Screen) -> Moment:
    at, now = item.falls_due_at, screen.now
    return Moment(
        at_iso=iso(at),
        limit_iso="" if clock.limit_at is None else iso(clock.limit_at),
        text=dated_time(at, setting.zone, now),
        kind="due",
        count=count_text("due", at, clock.limit_at, now),
        late=clock.limit_at is not None and clock.limit_at < now,
    )
