"""Ward time as people type it, and UTC: the one place where a wall time becomes an instant.

A wall time that the ward's clocks skip, or show twice, in the night of a clock change is refused
with the reason; a time that comes twice is accepted with the word which of the two is meant.
"""

import re
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from typing import Final
from zoneinfo import ZoneInfo

from server.domain.events import Event

_TYPED: Final = re.compile(r"(\d\d|\d(?=[:.h]))[:.h]?(\d\d)(?::(\d\d))?", re.ASCII)
FIRST: Final = "first"
SECOND: Final = "second"
MINUTE: Final = timedelta(minutes=1)


class WardTimeError(ValueError):
    """A date or a time that is none, or that the ward's clocks skip or show twice."""


@dataclass(frozen=True, slots=True)
class TypedTime:
    """An instant as the fields of a form hold it: date `2026-11-25`, time `14:20`.

    `choices` is empty except where the time comes twice: then (value, words) for each; `which`
    is the value that was chosen, or empty.
    """

    day: str = ""
    clock: str = ""
    which: str = ""
    choices: tuple[tuple[str, str], ...] = ()

    @property
    def is_blank(self) -> bool:
        """Whether no time was typed; a date alone says nothing."""
        return not self.clock.strip()


def typed_time(instant: datetime, zone: ZoneInfo) -> TypedTime:
    """Answer the fields that stand for an instant."""
    local = instant.astimezone(zone)
    shown = TypedTime(f"{local:%Y-%m-%d}", f"{local:%H:%M}", SECOND if local.fold else FIRST)
    return with_choices(shown, zone)


def with_choices(typed: TypedTime, zone: ZoneInfo) -> TypedTime:
    """Answer the same fields with the choice, where the ward's clocks show the time twice."""
    try:
        readings = _readings(typed, zone)
    except WardTimeError:
        return TypedTime(typed.day, typed.clock)
    if len(readings) == 1:
        return TypedTime(typed.day, typed.clock)
    words = [f"{at.astimezone(zone):%H:%M %Z}" for at in readings]
    choices = ((FIRST, f"the first, {words[0]}"), (SECOND, f"the second, {words[1]}"))
    return TypedTime(typed.day, typed.clock, typed.which, choices)


def instant_of(typed: TypedTime, zone: ZoneInfo) -> datetime:
    """Answer the UTC instant that was typed. Raises `WardTimeError` with the reason."""
    readings = _readings(typed, zone)
    if len(readings) == 1:
        return readings[0]
    if typed.which not in (FIRST, SECOND):
        raise WardTimeError("the clocks go back and this time comes twice: say which is meant")
    return readings[typed.which == SECOND]


def within_minute(instant: datetime, now: datetime, events: tuple[Event, ...]) -> datetime:
    """Place a typed minute among seconds: the present minute is now, another one its beginning.

    A minute in which something of the unit already happened is taken to come after that. Who
    types seconds means them.
    """
    if instant.second:
        return instant
    if now - MINUTE < instant <= now:
        return now
    same = [at.happened_at for at in events if instant <= at.happened_at < instant + MINUTE]
    return max(same, default=instant)


def _readings(typed: TypedTime, zone: ZoneInfo) -> list[datetime]:
    """The instants, in order, at which the ward's clocks show the time: one or two."""
    naive = datetime.combine(read_day(typed.day), read_clock(typed.clock))
    both = {naive.replace(tzinfo=zone, fold=fold).astimezone(UTC) for fold in (0, 1)}
    shown = sorted(at for at in both if at.astimezone(zone).replace(tzinfo=None) == naive)
    if not shown:
        raise WardTimeError(f"{naive:%H:%M} does not exist that night: the clocks skip it")
    return shown


def read_day(text: str) -> date:
    """Answer a date typed as `2026-11-25`. Raises `WardTimeError`."""
    try:
        return date.fromisoformat(text.strip())
    except ValueError:
        raise WardTimeError("expected a date, for example 2026-11-25") from None


def read_clock(text: str) -> time:
    """Answer a time typed as `14:20`, `1420`, `14.20` or `14:20:30`. Raises `WardTimeError`."""
    found = _TYPED.fullmatch(text.strip())
    hour, minute, second = (int(part) for part in found.groups("0")) if found else (24, 0, 0)
    try:
        return time(hour, minute, second)
    except ValueError:
        raise WardTimeError("expected a time from 00:00 to 23:59") from None
