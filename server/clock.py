"""The one file that reads the system clock. Everything else is told what time it is."""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from time import monotonic

Clock = Callable[[], datetime]
"""Answers the present instant, aware and in UTC to the second; `utc_now` is the real one."""


def utc_now() -> datetime:
    """The present instant: aware, in UTC, cut to the whole second."""
    return datetime.now(UTC).replace(microsecond=0)


def running_clock(start: datetime, speed: float, seconds: Callable[[], float] = monotonic) -> Clock:
    """A clock that shows `start` now and from there on runs `speed` times as fast as real time.

    `seconds` counts real seconds and never goes back. Nothing but a demonstration runs on it.
    """
    begun = seconds()

    def now() -> datetime:
        shown = start + timedelta(seconds=(seconds() - begun) * speed)
        return shown.replace(microsecond=0)

    return now
