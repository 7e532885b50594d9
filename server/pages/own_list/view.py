"""The list of one nurse, ready to be shown: now, within the hour, later, and the units."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final
from urllib.parse import urlencode
from zoneinfo import ZoneInfo

from server.domain.alarm import MARK, Alarm
from server.domain.cover import Cover
from server.domain.wording import dated_time
from server.domain.words import Kind, Level
from server.pages.counted import Moment, count_text
from server.pages.links import episode_href, reaction_href, ward_href
from server.pages.own_list.calls import CallView, call_view, is_escalated, own_tasks
from server.pages.own_list.tasks import Task
from server.pages.own_list.unit_line import UnitLine, unit_line, unit_text
from server.pages.page_head import UnreadableLine, iso
from server.pages.row_view import dom_key
from server.pages.unreadable_view import unreadable_lines
from server.services.list_mine import Mine, MyUnit

MOST_FOLLOWED: Final = 2  # wards: a browser holds few lines open to one server
HOUR: Final = timedelta(hours=1)
REMINDING: Final = frozenset({Alarm.HIGH, Alarm.MEDIUM})


@dataclass(frozen=True, slots=True)
class TaskView:
    """One task. `call` is the reminder that is still to be taken, None where there is none.

    `clocks` are the names to say "I have it" of, empty where that cannot be said. `whose` says
    for whom the unit is covered, or who covers it.
    """

    key: str
    bed: str
    name: str
    unit: str
    ward: str
    words: str
    state: str
    priority: str
    mark: str
    moment: Moment
    href: str
    call: CallView | None
    held: str
    whose: str
    episode_id: str
    clocks: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class UnitView:
    """One unit of the nurse; `quiet` where nothing of it is due."""

    line: UnitLine
    whose: str
    quiet: bool


@dataclass(frozen=True, slots=True)
class CoverView:
    """One cover that the nurse gives or has, as a sentence; `href` leads to where it is ended."""

    words: str
    href: str


@dataclass(frozen=True, slots=True)
class MineView:
    """The whole list. `count` is how many tasks call for the nurse now and nobody has taken.

    `changes` are where the page hears at once that one of the nurse's wards changed. `lost` are
    units that cannot be read.
    """

    nurse: str
    own: bool
    count: int
    groups: tuple[tuple[str, str, tuple[TaskView, ...]], ...]
    units: tuple[UnitView, ...]
    covers: tuple[CoverView, ...]
    changes: tuple[str, ...]
    lost: tuple[UnreadableLine, ...]

    @property
    def reminding(self) -> tuple[TaskView, ...]:
        """The tasks that still remind, by time."""
        return tuple(task for _, _, tasks in self.groups for task in tasks if task.call)


def mine_view(mine: Mine, *, own: bool, cover_href: Mapping[str, str]) -> MineView:
    """Answer the list; `cover_href` is where covers of each ward are arranged, by ward id."""
    tasks = sorted(
        ((task, unit) for unit in (*mine.units, *mine.called) for task in own_tasks(unit)),
        key=lambda pair: (*pair[0].order, pair[1].picture.sort_key),
    )
    groups = _groups([_task(task, unit, mine) for task, unit in tasks], tasks, mine.at)
    shown = [view for _, _, views in groups for view in views]
    busy = {task.episode_id for _, _, views in groups[:2] for task in views}
    return MineView(
        nurse=mine.nurse.name,
        own=own,
        count=sum(view.call is not None and view.priority in REMINDING for view in shown),
        groups=tuple(group for group in groups if group[2]),
        units=tuple(_unit(one, mine, busy) for one in mine.units if not _is_closed(one)),
        covers=tuple(_cover(one, mine, cover_href) for one in mine.covers),
        lost=unreadable_lines(mine.lost),
        changes=tuple(ward_href(ward_id, "changes") for ward_id in mine.wards)[:MOST_FOLLOWED],
    )


def _groups(
    views: list[TaskView], tasks: list[tuple[Task, MyUnit]], now: datetime
) -> list[tuple[str, str, tuple[TaskView, ...]]]:
    def within(low: datetime | None, high: datetime | None) -> tuple[TaskView, ...]:
        pairs = zip(views, tasks, strict=True)
        return tuple(
            view
            for view, (task, _) in pairs
            if (low is None or task.due_at > low) and (high is None or task.due_at <= high)
        )

    return [
        ("now", "Now", within(None, now)),
        ("hour", "Within the hour", within(now, now + HOUR)),
        ("later", "Later", within(now + HOUR, None)),
    ]


def _task(task: Task, unit: MyUnit, mine: Mine) -> TaskView:
    request = unit.picture.case.request
    zone = ZoneInfo(mine.wards[request.ward_id].timezone)
    clocks = tuple(clock.name.value for clock in task.clocks)
    taken = task.held_by is not None
    away = not unit.calls and unit.covering_for is None and request.ward_id in mine.covered_on
    quiet = task.owed is None or away
    moment = _moment(task, zone, mine.at)
    return TaskView(
        key=f"{dom_key(request.id)}-{task.kind}-{'-'.join(clocks) or 'level'}",
        bed=request.bed,
        name=unit.picture.case.patient.full_name,
        unit=unit_text(request),
        ward=_ward(unit, mine),
        words=task.words,
        state=task.state,
        priority=task.priority,
        mark=MARK[task.priority],
        moment=moment,
        href=_form_href(request.id, task),
        call=None if quiet else call_view(task, request, moment, escalated=is_escalated(unit)),
        held=f"{_named(mine, task.held_by)} has it" if taken else "",
        whose=_whose(unit, mine),
        episode_id=request.id,
        clocks=clocks if task.owed is not None and not taken else (),
    )


def _moment(task: Task, zone: ZoneInfo, now: datetime) -> Moment:
    late = task.limit_at is not None and task.limit_at < now
    shown = task.shown_at or task.due_at
    return Moment(
        at_iso=iso(shown),
        limit_iso="" if task.limit_at is None else iso(task.limit_at),
        text=dated_time(shown, zone, now),
        kind=task.count,
        count=count_text(task.count, shown, task.limit_at, now),
        late=late,
    )


def _form_href(episode_id: str, task: Task) -> str:
    """The page of the unit, at the form that does the task; scripts open it and put the cursor in.

    A suspected reaction has a page of its own.
    """
    if task.kind is Kind.REACTION_SUSPECTED:
        return reaction_href(episode_id)
    step = {"step": task.step} if task.step else {}
    place = f"#step-{task.step}" if task.step else ""
    return f"{episode_href(episode_id)}?{urlencode({**step, 'do': task.kind.value})}{place}"


def _unit(unit: MyUnit, mine: Mine, busy: set[str]) -> UnitView:
    quiet = unit.picture.case.request.id not in busy
    return UnitView(unit_line(unit.picture, _ward(unit, mine)), _whose(unit, mine), quiet)


def _is_closed(unit: MyUnit) -> bool:
    """Whether the unit is only watched for late signs."""
    return unit.picture.urgency.level is Level.CLOSED


def _cover(cover: Cover, mine: Mine, hrefs: Mapping[str, str]) -> CoverView:
    zone = ZoneInfo(mine.wards[cover.ward_id].timezone)
    until = dated_time(cover.over_at, zone, mine.at)
    begins = "" if cover.in_force(mine.at) else f" from {dated_time(cover.from_at, zone, mine.at)}"
    who = _named(mine, cover.covering_id)
    words = (
        f"Covering for {_named(mine, cover.covered_id)}{begins} until {until}"
        if cover.covering_id == mine.nurse.id
        else f"{who} covers{begins} until {until}"
    )
    return CoverView(words, hrefs[cover.ward_id])


def _ward(unit: MyUnit, mine: Mine) -> str:
    """The ward's name where the list is of several."""
    several = len(mine.wards) > 1
    return mine.wards[unit.picture.case.request.ward_id].name if several else ""


def _whose(unit: MyUnit, mine: Mine) -> str:
    if unit.calls:
        nurse_id = unit.picture.episode.nurse_id
        who = f"{_named(mine, nurse_id)} has" if nurse_id else "nobody has"
        return f"{'escalated to you, ' if is_escalated(unit) else ''}{who} the unit"
    if unit.covering_for is not None:
        return f"covering for {_named(mine, unit.covering_for)}"
    covering = mine.covered_on.get(unit.picture.case.request.ward_id)
    return "" if covering is None else f"{_named(mine, covering)} covers"


def _named(mine: Mine, staff_id: str | None) -> str:
    return mine.names.get(staff_id or "", staff_id or "")
