"""How long a sign-in has to wait after failed ones: longer each time, and never for good.

Nothing here locks an account: a wait ends by itself, and a device on which somebody has signed in
before is counted apart from all others, so that nobody who guesses elsewhere keeps them out.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

MOST_DOUBLINGS: Final = 10


@dataclass(frozen=True, slots=True)
class Tries:
    """How often a sign-in has failed in a row, and when last."""

    failed: int
    last_at: datetime


@dataclass(frozen=True, slots=True)
class Patience:
    """`free` failures cost nothing; the next wait is `first`, and doubles up to `longest`."""

    free: int
    first: timedelta
    longest: timedelta


# NIST SP 800-63B allows at most 100 failures in a row on an account (from memory). Here the
# hundredth comes a day after the first at the earliest. The figures are this project's own.
ON_ONE_DEVICE: Final = Patience(5, timedelta(seconds=30), timedelta(minutes=15))
"""Of an account on one device."""

ELSEWHERE: Final = Patience(10, timedelta(seconds=30), timedelta(minutes=15))
"""Of an account on all devices on which it has never signed in, together."""

FORGOTTEN_AFTER: Final = timedelta(days=1)
"""Failures as old as this count no more."""


def after_failure(tries: Tries | None, now: datetime) -> Tries:
    """Answer the tries with one more that failed."""
    if tries is None or now - tries.last_at >= FORGOTTEN_AFTER:
        return Tries(1, now)
    return Tries(tries.failed + 1, now)


def waits_until(tries: Tries | None, patience: Patience) -> datetime | None:
    """Answer from when on the next try is looked at, None: at once."""
    if tries is None or tries.failed < patience.free:
        return None
    doublings = min(tries.failed - patience.free, MOST_DOUBLINGS)
    return tries.last_at + min(patience.first * (1 << doublings), patience.longest)
