"""The stretch of time that all lines of a board share, and its axis. Places are per cent of it."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta, tzinfo
from functools import lru_cache
from typing import Final

BEHIND: Final = timedelta(minutes=90)
AHEAD: Final = timedelta(hours=4)
STEP: Final = timedelta(minutes=15)


@dataclass(frozen=True, slots=True)
class Window:
    """From `start` to `end`, UTC."""

    start: datetime
    end: datetime

    def x(self, at: datetime) -> float:
        """Answer the place of an instant in per cent, below 0 or above 100 when out of sight."""
        return round(100 * ((at - self.start) / (self.end - self.start)), 2)

    def cut(self, start: datetime, end: datetime) -> tuple[float, float] | None:
        """Answer the part of a stretch that is in sight as (from, to), None when there is none."""
        first, last = max(start, self.start), min(end, self.end)
        return (self.x(first), self.x(last)) if first < last else None

    def shows(self, at: datetime) -> bool:
        """Whether an instant is in sight."""
        return self.start <= at <= self.end


@dataclass(frozen=True, slots=True)
class Tick:
    """A whole hour of the ward on the axis."""

    x: float
    text: str


def window_at(now: datetime) -> Window:
    """Answer the window around `now`; it moves in steps, so that rows drawn minutes apart agree."""
    behind = now - BEHIND
    start = behind - timedelta(seconds=behind.timestamp() % STEP.total_seconds())
    return Window(start, start + BEHIND + AHEAD + STEP)


@lru_cache(maxsize=64)
def axis(window: Window, zone: tzinfo) -> tuple[Tick, ...]:
    """Answer the ward's whole hours in sight; on a night when the clocks change, with the zone."""
    hours = list(_whole_hours(window, zone))
    one_offset = all(hour.utcoffset() == hours[0].utcoffset() for hour in hours)
    shape = "%H:%M" if one_offset else "%H:%M %Z"
    return tuple(Tick(window.x(hour), f"{hour:{shape}}") for hour in hours)


def _whole_hours(window: Window, zone: tzinfo) -> Iterator[datetime]:
    at = window.start
    while at <= window.end:
        local = at.astimezone(zone)
        if local.minute == 0:
            yield local
        at += STEP
