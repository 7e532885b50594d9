"""From the typed form of a day to what is entered, and refusals back to their fields."""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import Final

from server.domain.workload.capacity import Collector, Duty, NightRule, WallWindow, WardLimits
from server.domain.workload.period import Period
from server.pages.days.day_fields import (
    LIMIT_LABELS,
    TRAINED,
    groups,
    prefixes,
    staff_of,
)
from server.pages.forms.entry import MISSING, NO_TIME, Entry
from server.pages.forms.ward_time import (
    FIRST,
    SECOND,
    TypedTime,
    WardTimeError,
    instant_of,
    read_clock,
)
from server.services.enter_day import DayDraft, PersonDay
from server.services.enter_shift import ShiftDraft
from server.services.read_day import Day
from server.store.shifts import Break, Shift
from server.store.training import ShiftWork, Training

_PART: Final = re.compile(r"[,;]")
_NUMBERS: Final = re.compile(r"\d+( +\d+)+", re.ASCII)
_SECOND: Final = timedelta(seconds=1)
TWICE_WITHIN: Final = timedelta(hours=12)
"""The clocks show a time again within hours, and the next day shows it a day later."""
_OF_SHIFT: Final = {
    "staff_id": "on",
    "starts_at": "from",
    "ends_at": "until",
    "beds": "beds",
    "skills": "skills",
    "duties": "duty_1_name",
}
_OF_BREAK: Final = {"starts_at": "from", "ends_at": "until"}
_OF_DUTY: Final = {"name": "name", "from_at": "from", "until_at": "until"}


@dataclass(frozen=True, slots=True)
class DayRead:
    """What was typed. `fields` are the fields of the form by the names that refusals know."""

    draft: DayDraft
    fields: Mapping[str, str]


def read_typed_day(typed: Entry, day: Day) -> DayRead:
    """Answer the day that was typed. Raises `Wrong`, each refusal beside its field."""
    there = {one.id: one for one in day.shifts}
    listed = [(prefix, there.get(typed.raw(f"{prefix}shift"))) for prefix in prefixes(typed)]
    on = [(prefix, shift) for prefix, shift in listed if typed.yes_no(f"{prefix}on")]
    people = [_person(typed, prefix, shift, day) for prefix, shift in on]
    limits = _limits(typed, day.limits)
    typed.check()
    draft = DayDraft(
        ward_id=day.ward.id,
        people=tuple(one for one in people if one is not None),
        removed=tuple(
            shift.id for prefix, shift in listed if shift and not typed.yes_no(f"{prefix}on")
        ),
        limits=limits,
    )
    return DayRead(draft, _fields(typed, [prefix for prefix, _ in on]))


def told(errors: Mapping[str, str], typed: Entry, day: Day) -> dict[str, str]:
    """Answer refusals with whose field each is, for where they stand away from it."""
    return {name: _told(name, why, typed, day) for name, why in errors.items()}


def _told(name: str, why: str, typed: Entry, day: Day) -> str:
    prefix = next((one for one in prefixes(typed) if name.startswith(one)), "")
    if name == "form":
        return why
    if not prefix:
        return f"{LIMIT_LABELS.get(name, name.replace('_', ' ').capitalize())}: {why}"
    what = name.removeprefix(prefix).replace("_", " ")
    said = "" if what == "on" else f", {what}"
    return f"{staff_of(typed, day.names, prefix)}{said}: {why}"


def _person(typed: Entry, prefix: str, shift: Shift | None, day: Day) -> PersonDay | None:
    """One shift, None where something that it needs could not be read."""
    kept = _instants(shift)
    starts_at = _at(typed, f"{prefix}from", day, None, kept)
    if starts_at is None:
        return None
    just_before = starts_at - _SECOND
    ends_at = _at(typed, f"{prefix}until", day, starts_at, kept)
    breaks = [
        stretch
        for name in groups(typed, f"{prefix}break")
        if (stretch := _stretch(typed, name, day, just_before, kept))
    ]
    return PersonDay(
        ShiftDraft(
            staff_id=typed.raw(f"{prefix}staff"),
            ward_id=day.ward.id,
            starts_at=starts_at,
            ends_at=ends_at or starts_at,
            breaks=tuple(Break(one.from_at, one.until_at) for one in breaks),
            id=shift.id if shift else None,
        ),
        ShiftWork(
            frozenset(_names(typed, f"{prefix}beds")),
            tuple(_duties(typed, prefix, day, just_before, kept)),
        ),
        _training(typed, prefix, day),
    )


def _duties(
    typed: Entry, prefix: str, day: Day, after: datetime, kept: Iterable[datetime]
) -> Iterable[Duty]:
    for name in groups(typed, f"{prefix}duty"):
        called = typed.text(f"{name}_name") or ""
        stretch = _stretch(typed, name, day, after, kept, required=bool(called))
        if stretch is not None:
            yield Duty(stretch, called)


def _training(typed: Entry, prefix: str, day: Day) -> Training | None:
    """What somebody is trained for, None where it is what was entered before."""
    chosen = typed.choice(f"{prefix}trained", TRAINED, required=True)
    may_start, may_second = TRAINED[chosen or "both"]
    trained = Training(may_start, may_second, frozenset(_names(typed, f"{prefix}skills")))
    before = day.trained.get(typed.raw(f"{prefix}staff"), Training())
    return None if trained == before else trained


def _names(typed: Entry, name: str) -> list[str]:
    """Names between commas; numbers may also stand between blanks."""
    parts = [part.strip() for part in _PART.split(typed.text(name) or "")]
    return [
        one
        for part in parts
        if part
        for one in (part.split() if _NUMBERS.fullmatch(part) else (part,))
    ]


def _stretch(
    typed: Entry,
    name: str,
    day: Day,
    after: datetime,
    kept: Iterable[datetime],
    *,
    required: bool = False,
) -> Period | None:
    """A stretch of time, None where both of its fields are empty."""
    if not (required or _is_filled(typed, name)):
        return None
    begins = _at(typed, f"{name}_from", day, after, kept)
    ends = _at(typed, f"{name}_until", day, begins or after, kept)
    return None if begins is None or ends is None else Period(begins, ends)


def _is_filled(typed: Entry, name: str) -> bool:
    return any(typed.raw(f"{name}_{end}").strip() for end in ("from", "until"))


def _at(
    typed: Entry, name: str, day: Day, after: datetime | None, kept: Iterable[datetime]
) -> datetime | None:
    """The first instant of the day, or of the next, at which the wall shows a time.

    With `after` one later than that. A time that the clocks show twice stays the one it was.
    """
    clock = typed.text(name)
    if clock is None:
        typed.refuse(name, NO_TIME)
        return None
    days = [day.day] if after is None else [day.day, day.day + timedelta(days=1)]
    try:
        found = [at for one in days for at in _shown(clock, one, day)]
    except WardTimeError as wrong:
        typed.refuse(name, str(wrong))
        return None
    later = [at for at in found if after is None or at > after]
    if not later:
        typed.refuse(name, f"{clock} does not exist that night: the clocks skip it")
        return None
    first = min(later)
    same = [at for at in later if at - first < TWICE_WITHIN and at in set(kept)]
    return min(same, default=first)


def _shown(clock: str, on: date, day: Day) -> set[datetime]:
    """When the wall shows a time on a day: once, twice, or where the clocks skip it never."""
    read_clock(clock)
    try:
        return {
            instant_of(TypedTime(on.isoformat(), clock, which), day.zone)
            for which in (FIRST, SECOND)
        }
    except WardTimeError:
        return set()


def _instants(shift: Shift | None) -> frozenset[datetime]:
    """The instants of a shift as it was entered before."""
    if shift is None:
        return frozenset()
    breaks = (at for one in shift.breaks for at in (one.starts_at, one.ends_at))
    return frozenset((shift.starts_at, shift.ends_at, *breaks))


def _limits(typed: Entry, before: WardLimits) -> WardLimits:
    night = typed.choice("night_rule", list(NightRule), required=True)
    collected_by = typed.choice("collected_by", list(Collector), required=True)
    windows = (_window(typed, name) for name in groups(typed, "handover"))
    return WardLimits(
        handovers=tuple(one for one in windows if one is not None),
        night_rule=NightRule(night or before.night_rule),
        most_starts=typed.whole("most_starts"),
        collected_by=Collector(collected_by or before.collected_by),
        porters=typed.whole("porters"),
        issues_per_quarter=typed.whole("issues_per_quarter"),
    )


def _window(typed: Entry, name: str) -> WallWindow | None:
    if not _is_filled(typed, name):
        return None
    first, last = (_wall(typed, f"{name}_{end}") for end in ("from", "until"))
    return None if first is None or last is None else WallWindow(first, last)


def _wall(typed: Entry, name: str) -> time | None:
    clock = typed.text(name)
    try:
        return read_clock(clock or "")
    except WardTimeError as wrong:
        typed.refuse(name, MISSING if clock is None else str(wrong))
        return None


def _fields(typed: Entry, on: list[str]) -> dict[str, str]:
    """The fields of the form by the names that refusals know them by."""
    handovers = [one for one in groups(typed, "handover") if _is_filled(typed, one)]
    fields = {
        f"handovers.{place}.until_time": f"{one}_until" for place, one in enumerate(handovers)
    }
    for place, prefix in enumerate(on):
        breaks = [one for one in groups(typed, f"{prefix}break") if _is_filled(typed, one)]
        duties = [
            one
            for one in groups(typed, f"{prefix}duty")
            if typed.raw(f"{one}_name").strip() or _is_filled(typed, one)
        ]
        known = {said: f"{prefix}{field}" for said, field in _OF_SHIFT.items()}
        known |= _numbered("breaks", breaks, _OF_BREAK) | _numbered("duties", duties, _OF_DUTY)
        fields |= {f"people.{place}.{said}": field for said, field in known.items()}
    return fields


def _numbered(listed: str, names: list[str], said: Mapping[str, str]) -> dict[str, str]:
    return {
        f"{listed}.{place}.{known}": f"{name}_{field}"
        for place, name in enumerate(names)
        for known, field in said.items()
    }
