"""Who has how much: one row of quarters for each person, and the same in words."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import timedelta
from typing import Final

from server.domain.plan.telling import WORK
from server.domain.urgency import natural
from server.domain.wording import span, wall_time
from server.domain.workload.capacity import OnDuty
from server.domain.workload.load import Load, PersonLoad, SlotLoad
from server.domain.workload.period import Period
from server.domain.workload.periods import common, without
from server.domain.workload.task import Task
from server.domain.workload.wording import stretch
from server.pages.plans.axis_view import LETTER
from server.pages.row_view import dom_key
from server.pages.time_window import Window
from server.services.planning_ground import Ground
from server.services.read_workload import Workload

HEIGHT: Final = 1.5
"""How high a quarter that is full of work stands, in em."""
_MINUTE: Final = timedelta(minutes=1)


@dataclass(frozen=True, slots=True)
class Cell:
    """The work of one quarter. `locked` stands on the foot of the row, `movable` on it, in em."""

    x: float
    width: float
    middle: float
    minutes: int
    locked: float
    movable: float
    over: bool
    words: str


@dataclass(frozen=True, slots=True)
class Away:
    """When somebody is not at work: `kind` is break, duty or off.

    `text` is empty where it does not fit, or work stands in its place.
    """

    kind: str
    x: float
    width: float
    middle: float
    text: str
    words: str


@dataclass(frozen=True, slots=True)
class PersonRow:
    """One person. `words` say the whole row; `tasks` are what lies on them, in order of time."""

    key: str
    name: str
    given: str
    cells: tuple[Cell, ...]
    away: tuple[Away, ...]
    total: str
    rate: str
    over: str
    words: str
    tasks: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class PeopleView:
    """Everybody, by name, how evenly it is spread, and the work that nobody is named for."""

    rows: tuple[PersonRow, ...]
    fairness: str
    unnamed: tuple[str, ...]


def people_view(ground: Ground, workload: Workload, window: Window) -> PeopleView:
    """Answer the rows of everybody who is there or has work, by name."""
    load = workload.load
    rows = (_person(ground, workload, one, window) for one in load.people)
    return PeopleView(
        rows=tuple(sorted(rows, key=lambda row: (row.name, row.key))),
        fairness=_fairness(ground, load),
        unnamed=tuple(task_words(ground, one) for one in load.unnamed),
    )


def task_words(ground: Ground, task: Task) -> str:
    """Answer a task in words, `15:10 first check bed 4, 5 min, may lie from 15:05 to 15:15`."""
    text = f"{_at(ground, task)} {WORK[task.work]} bed {task.bed}, {_minutes(task.length)} min"
    if task.is_locked:
        return text
    room = Period(task.earliest, task.latest)
    return f"{text}, may begin {stretch(room, ground.zone)}"


def _at(ground: Ground, task: Task) -> str:
    return wall_time(task.at, ground.zone, ground.now)


def _person(ground: Ground, workload: Workload, one: PersonLoad, window: Window) -> PersonRow:
    load, shifts = workload.load, _shifts(workload, one.staff_id)
    name = ground.names.get(one.staff_id, one.staff_id)
    tasks = [task for task in workload.tasks if task.staff_id == one.staff_id]
    shown = tuple(task for task in tasks if task.period.overlaps(load.period))
    cells = _cells(ground, one, load, window)
    away = tuple(in_sight(x, cells) for x in _away(ground, shifts, load.period, window))
    total = f"{span(_minutes(one.work))} of {span(_minutes(one.there))}"
    rate = "" if one.minutes_per_hour is None else f"{one.minutes_per_hour} min in the hour"
    over = f"{span(_minutes(one.over))} too much" if one.over else ""
    said = [f"{name}: {total} at work", *(cell.words for cell in cells), *(x.words for x in away)]
    return PersonRow(
        key=dom_key(one.staff_id),
        name=name,
        given=_given(shifts),
        cells=cells,
        away=away,
        total=total,
        rate=rate,
        over=over,
        words="; ".join(said),
        tasks=tuple(task_words(ground, task) for task in shown),
    )


def _shifts(workload: Workload, staff_id: str) -> list[OnDuty]:
    return [one for one in workload.capacity.on_duty if one.staff_id == staff_id]


def _given(shifts: Iterable[OnDuty]) -> str:
    """The beds that somebody was given and what they may not do, for the small line."""
    listed = list(shifts)
    if not listed:
        return "not on duty"
    beds = sorted({bed for one in listed for bed in one.beds}, key=natural)
    said = [f"{'beds' if len(beds) > 1 else 'bed'} {', '.join(beds)}"] if beds else []
    if not any(one.may_start for one in listed):
        seconds = any(one.may_second for one in listed)
        said.append("second checker only" if seconds else "neither starts nor checks")
    return ", ".join(said)


def _cells(ground: Ground, one: PersonLoad, load: Load, window: Window) -> tuple[Cell, ...]:
    pairs = zip(load.slots, one.slots, strict=True)
    return tuple(_cell(ground, slot, work, window) for slot, work in pairs if work.work)


def _cell(ground: Ground, slot: Period, work: SlotLoad, window: Window) -> Cell:
    first, last = window.x(slot.from_at), window.x(slot.until_at)
    locked = min(HEIGHT, round(HEIGHT * (work.locked / slot.length), 2))
    movable = min(HEIGHT - locked, round(HEIGHT * (work.movable / slot.length), 2))
    minutes = -(-work.work // _MINUTE)
    moves = f", {_minutes(work.movable)} of it movable" if work.movable else ""
    over = f", {_minutes(work.over)} too much" if work.over else ""
    words = f"{wall_time(slot.from_at, ground.zone)} {minutes} min{moves}{over}"
    return Cell(
        x=first,
        width=round(last - first, 2),
        middle=round((first + last) / 2, 2),
        minutes=minutes,
        locked=locked,
        movable=round(movable, 2),
        over=bool(work.over),
        words=words,
    )


def _away(
    ground: Ground, shifts: Iterable[OnDuty], period: Period, window: Window
) -> Iterator[Away]:
    listed = [one for one in shifts if one.period.overlaps(period)]
    for gap in without(period, [one.period for one in listed]):
        yield _absence(ground, window, "off", "off duty", gap)
    for one in listed:
        for pause in one.breaks:
            if pause.overlaps(period):
                yield _absence(ground, window, "break", "break", common(pause, period))
        for duty in one.duties:
            if duty.period.overlaps(period):
                yield _absence(ground, window, "duty", duty.name, common(duty.period, period))


def in_sight(away: Away, cells: Iterable[Cell]) -> Away:
    """Answer the same without its text where that would be read through work that lies in it."""
    half = len(away.text) * LETTER / 2
    first, last = away.middle - half, away.middle + half
    hidden = any(cell.x < last and first < cell.x + cell.width for cell in cells)
    return replace(away, text="") if hidden else away


def _absence(ground: Ground, window: Window, kind: str, name: str, period: Period) -> Away:
    first, last = window.x(period.from_at), window.x(period.until_at)
    width = round(last - first, 2)
    text = name if len(name) * LETTER <= width else ""
    middle = round((first + last) / 2, 2)
    return Away(kind, first, width, middle, text, f"{name} {stretch(period, ground.zone)}")


def _fairness(ground: Ground, load: Load) -> str:
    fair = load.fairness
    if fair is None:
        return ""
    most, least = (
        f"{ground.names.get(one.staff_id, one.staff_id)} {one.minutes_per_hour}"
        for one in (fair.most, fair.least)
    )
    return f"Minutes of work in each hour: most {most}, least {least}, difference {fair.difference}"


def _minutes(length: timedelta) -> int:
    return length // _MINUTE
