"""The page of a day, ready to be shown: as a form, and as a table for who only reads it."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final

from server.domain.urgency import natural
from server.domain.workload.capacity import Collector, NightRule, WardLimits
from server.pages.days.day_fields import (
    COLLECTOR_WORDS,
    LIMIT_FIELDS,
    NIGHT_WORDS,
    ROOM,
    TRAINED_WORDS,
    groups,
    prefixes,
    staff_of,
    training_name,
    wall,
    window_words,
)
from server.pages.forms.entry import Entry
from server.pages.forms.fields import Options
from server.pages.forms.views import FieldView, Surroundings, field_views
from server.pages.links import day_href
from server.pages.tables import Cell, ListPage, Row
from server.services.read_day import Day
from server.services.ward_day import ward_day
from server.store.shifts import Shift
from server.store.training import ShiftWork, Training

COLUMNS: Final = ("Who", "On duty", "Breaks", "Beds", "Fixed duties", "Trained", "Skills")
_NOBODY: Final = "Nobody is entered for this day."
_DAY: Final = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class PersonFields:
    """The fields of one shift, whose names begin with `prefix`.

    What is seldom needed is folded away, with how much of it is entered, `folded`; `is_open`
    where something of it is wrong.
    """

    prefix: str
    name: str
    breaks: tuple[str, ...]
    duties: tuple[str, ...]
    folded: int
    is_open: bool


@dataclass(frozen=True, slots=True)
class DayLink:
    """A day to go to."""

    words: str
    href: str


@dataclass(frozen=True, slots=True)
class DayView:
    """A day. `copies` is the day that can be copied, empty where there is nothing to copy."""

    title: str
    iso: str
    before: DayLink
    after: DayLink
    people: tuple[PersonFields, ...]
    handovers: tuple[str, ...]
    limits: tuple[FieldView, ...]
    trained: Options
    others: tuple[tuple[str, tuple[str, ...]], ...]
    copies: str
    clocks_change: bool


def day_view(day: Day, today: date, typed: Entry, errors: Mapping[str, str]) -> DayView:
    """Answer the form of a day with what was typed."""
    return DayView(
        title=_title(day.day, today),
        iso=day.day.isoformat(),
        before=_link(day, day.day - _DAY),
        after=_link(day, day.day + _DAY),
        people=tuple(_person(typed, prefix, day, errors) for prefix in prefixes(typed)),
        handovers=tuple(groups(typed, "handover")),
        limits=field_views(LIMIT_FIELDS, typed, Surroundings(day.zone)),
        trained=TRAINED_WORDS,
        others=_others(day),
        copies=day_words(day.day - _DAY) if _is_worth_copying(day) else "",
        clocks_change=ward_day(day.day, day.zone).length != _DAY,
    )


def day_words(day: date) -> str:
    """Answer a day as people say it, `Friday 27 November`."""
    return f"{day:%A} {day.day} {day:%B}"


def day_table(day: Day) -> ListPage:
    """Answer the shifts of a day to be read."""
    return ListPage(
        title="",
        caption="Who is on duty, by when they come",
        columns=COLUMNS,
        rows=tuple(_row(one, day) for one in day.shifts),
        empty=_NOBODY,
    )


def limit_words(limits: WardLimits) -> tuple[tuple[str, str], ...]:
    """Answer what a ward allows at once, as terms and words."""
    handovers = [" to ".join(window_words(one)) for one in limits.handovers]
    return (
        ("Nobody starts a unit", ", ".join(handovers) or "no such time"),
        ("Units starting at once", _most(limits.most_starts)),
        ("Units from the blood bank in a quarter of an hour", _most(limits.issues_per_quarter)),
        ("A unit is collected by", dict(COLLECTOR_WORDS)[Collector(limits.collected_by)]),
        ("Porters at once", _most(limits.porters)),
        ("Routine units at night", dict(NIGHT_WORDS)[NightRule(limits.night_rule)]),
    )


def _most(most: int | None) -> str:
    return "no limit" if most is None else f"at most {most}"


def _title(day: date, today: date) -> str:
    near = {-1: "yesterday, ", 0: "today, ", 1: "tomorrow, "}.get((day - today).days, "on ")
    year = f" {day.year}" if day.year != today.year else ""
    return f"Duty {near}{day_words(day)}{year}"


def _link(day: Day, other: date) -> DayLink:
    words = f"{other:%a} {other.day} {other:%b}"
    return DayLink(words, day_href(day.ward.id, other.isoformat()))


def _person(typed: Entry, prefix: str, day: Day, errors: Mapping[str, str]) -> PersonFields:
    breaks, duties = groups(typed, f"{prefix}break"), groups(typed, f"{prefix}duty")
    more = [*breaks[ROOM:], *duties[1:], f"{prefix}skills"]
    typed_in = [name for name in typed.values if typed.raw(name).strip()]
    return PersonFields(
        prefix=prefix,
        name=staff_of(typed, day.names, prefix),
        breaks=tuple(breaks),
        duties=tuple(duties),
        folded=sum(any(name.startswith(group) for name in typed_in) for group in more),
        is_open=any(name.startswith(group) for name in errors for group in more),
    )


def _is_worth_copying(day: Day) -> bool:
    """Whether somebody who was on duty the day before is not yet on this one."""
    there = {shift.staff_id for shift in day.shifts}
    begins = ward_day(day.day - _DAY, day.zone)
    return any(begins.contains(one.starts_at) and one.staff_id not in there for one in day.before)


def _others(day: Day) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """Who else is there, by when."""
    stretches: defaultdict[str, list[str]] = defaultdict(list)
    for one in day.others:
        stretches[_stretch(one, day)].append(day.names.get(one.staff_id, one.staff_id))
    return tuple((when, tuple(names)) for when, names in stretches.items())


def _stretch(shift: Shift, day: Day) -> str:
    last = wall(shift.ends_at, day)
    if shift in day.before:
        return f"from the day before until {last}"
    return f"{wall(shift.starts_at, day)} to {last}"


def _row(shift: Shift, day: Day) -> Row:
    work = day.works.get(shift.id, ShiftWork())
    training = day.trained.get(shift.staff_id, Training())
    duties = (
        f"{one.name} {wall(one.period.from_at, day)} to {wall(one.period.until_at, day)}"
        for one in work.duties
    )
    breaks = (f"{wall(one.starts_at, day)} to {wall(one.ends_at, day)}" for one in shift.breaks)
    return Row(
        (
            Cell(day.names.get(shift.staff_id, shift.staff_id)),
            Cell(_stretch(shift, day)),
            _cell(breaks),
            _cell(sorted(work.beds, key=natural)),
            _cell(duties),
            Cell(dict(TRAINED_WORDS)[training_name(training)]),
            _cell(sorted(training.skills)),
        )
    )


def _cell(texts: Iterable[str]) -> Cell:
    return Cell(", ".join(texts))
