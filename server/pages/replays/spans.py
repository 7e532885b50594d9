"""The stretch of time that the slider of a replay reaches over."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime, time, timedelta
from typing import Final
from zoneinfo import ZoneInfo

from server.domain.wording import day_text
from server.store.shifts import Shift

HOURS: Final = "hours"
SHIFT: Final = "shift"
DAY: Final = "day"
SPANS: Final = (HOURS, SHIFT, DAY)
WORDS: Final = {HOURS: "Three hours around", SHIFT: "The shift", DAY: "The day"}
AROUND: Final = timedelta(hours=3)
ONE_DAY: Final = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class Span:
    """From `start` until just before `end`, UTC; `words` say what it is."""

    start: datetime
    end: datetime
    words: str

    def x(self, at: datetime) -> float:
        """Answer the place of an instant in per cent."""
        return round(100 * ((at - self.start) / (self.end - self.start)), 2)


def span_at(name: str, at: datetime, zone: ZoneInfo, shifts: Iterable[Shift]) -> Span:
    """Answer the span of that name around an instant; `shifts` are those that it lies in.

    The hours around move on with each whole hour. Of several shifts it is that of most people;
    where none is on the plan, the day.
    """
    if name == HOURS:
        hour = at.replace(minute=0, second=0, microsecond=0)
        return Span(hour - AROUND, hour + AROUND, "the three hours before and after")
    times = Counter((one.starts_at, one.ends_at) for one in shifts)
    if name == SHIFT and times:
        (start, end), _ = max(times.items(), key=lambda item: (item[1], item[0]))
        return Span(start, end, "the shift")
    return _day(at, zone, "no shift is on the plan: the day" if name == SHIFT else "the day")


def _day(at: datetime, zone: ZoneInfo, words: str) -> Span:
    """A day of the ward, from midnight to midnight: 23 to 25 hours."""
    day = at.astimezone(zone).date()
    start, end = (
        datetime.combine(one, time(), zone).astimezone(UTC) for one in (day, day + ONE_DAY)
    )
    return Span(start, end, f"{words}, {day_text(day)}")
