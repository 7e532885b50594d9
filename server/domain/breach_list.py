"""Which of the limits that were not kept are asked for: by what they are and by when they lay.

Weekday, hour, night and shift are those of the limit, on the clock of its ward. A shift is named by
its hours alone: nothing here asks for a person, and nothing is counted by one.
"""

from bisect import bisect_left, bisect_right
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta, tzinfo
from operator import attrgetter
from typing import Final, NamedTuple

from server.domain.words import ClockName, ClockState, Component
from server.domain.workload.capacity import WallWindow

NO_SHIFT: Final = "none"
"""Stands for the hours of a shift where none was entered for the nurse of the unit."""


class Passed(NamedTuple):
    """A limit that was not kept. `nurse_id` had the unit then; no `cause`: nobody gave one yet."""

    episode_id: str
    ward_id: str
    clock: ClockName
    n: int
    limit_at: datetime
    met_at: datetime | None
    state: ClockState
    component: Component | None
    nurse_id: str | None
    cause: str | None


class Duty(NamedTuple):
    """A nurse is on duty on a ward from `starts_at` until `ends_at`."""

    ward_id: str
    staff_id: str
    starts_at: datetime
    ends_at: datetime


@dataclass(frozen=True, slots=True)
class Wanted:
    """What is asked for; None: whatever it is.

    `shift` is hours such as `07:00-19:30`, or `NO_SHIFT`. `weekday` counts from Monday, 1; `hour`
    begins on the hour. `night` tells night from day, `explained` those with a cause from open ones.
    """

    clock: ClockName | None = None
    component: Component | None = None
    shift: str | None = None
    weekday: int | None = None
    hour: int | None = None
    night: bool | None = None
    explained: bool | None = None


ANY: Final = Wanted()
A_DAY: Final = timedelta(days=1)  # no shift is longer
_begins: Final = attrgetter("starts_at")


@dataclass(frozen=True, slots=True)
class WardHours:
    """The clock on the wall of a ward, and its night."""

    zone: tzinfo
    night: WallWindow

    def is_night(self, instant: datetime) -> bool:
        """Whether an instant lies in the ward's night; its end is day again."""
        return self.night.holds(instant.astimezone(self.zone).time())


@dataclass(frozen=True, slots=True)
class Surroundings:
    """The hours of the wards, and who was on duty there."""

    wards: Mapping[str, WardHours]
    duties: Iterable[Duty] = ()
    _begun: dict[tuple[str, str], list[Duty]] = field(
        default_factory=lambda: defaultdict(list), init=False
    )

    def __post_init__(self) -> None:
        for duty in sorted(self.duties, key=_begins):
            self._begun[(duty.ward_id, duty.staff_id)].append(duty)

    def shift_of(self, passed: Passed) -> str:
        """Answer the hours of the shift in which the limit lay; of two, of the later one."""
        theirs = self._begun.get((passed.ward_id, passed.nurse_id or ""), [])
        since = bisect_left(theirs, passed.limit_at - A_DAY, key=_begins)
        begun = bisect_right(theirs, passed.limit_at, key=_begins)
        held = (duty for duty in reversed(theirs[since:begun]) if passed.limit_at < duty.ends_at)
        duty = next(held, None)
        return NO_SHIFT if duty is None else self._hours(duty)

    def _hours(self, duty: Duty) -> str:
        zone = self.wards[duty.ward_id].zone
        begins, ends = duty.starts_at.astimezone(zone), duty.ends_at.astimezone(zone)
        return f"{begins.hour:02d}:{begins.minute:02d}-{ends.hour:02d}:{ends.minute:02d}"


def wanted_ones(
    passed: Iterable[Passed], wanted: Wanted, around: Surroundings
) -> tuple[Passed, ...]:
    """Answer those that are asked for, in the order they came in."""
    return tuple(one for one in passed if _is_wanted(one, wanted, around))


def _is_wanted(one: Passed, wanted: Wanted, around: Surroundings) -> bool:
    said = (
        (wanted.clock, one.clock),
        (wanted.component, one.component),
        (wanted.explained, one.cause is not None),
    )
    if any(asked not in (None, is_so) for asked, is_so in said):
        return False
    if wanted.shift is not None and wanted.shift != around.shift_of(one):
        return False
    return _lies_then(one, wanted, around.wards[one.ward_id])


def _lies_then(one: Passed, wanted: Wanted, hours: WardHours) -> bool:
    if wanted.weekday is wanted.hour is wanted.night is None:
        return True
    local = one.limit_at.astimezone(hours.zone)
    if wanted.weekday not in (None, local.isoweekday()) or wanted.hour not in (None, local.hour):
        return False
    return wanted.night in (None, hours.is_night(one.limit_at))


def open_first(one: Passed) -> tuple[object, ...]:
    """Sort by this: what is open first, then the latest."""
    latest = -one.limit_at.timestamp()
    return (one.cause is not None, latest, one.episode_id, one.clock, one.n)


def earliest_first(one: Passed) -> tuple[object, ...]:
    """Sort by this: in the order of the limits."""
    return (one.limit_at, one.episode_id, one.clock, one.n)
