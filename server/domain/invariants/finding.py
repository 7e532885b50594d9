"""What was found of an invariant at one look."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum
from typing import Final

from server.domain.invariants.words import Invariant

NAMED: Final = 5
"""So many units are named in words; the others are counted."""


class Standing(StrEnum):
    """Whether an invariant holds; `idle`: there is nothing here that it could be asked of."""

    HOLDS = "holds"
    BROKEN = "broken"
    IDLE = "idle"


@dataclass(frozen=True, slots=True)
class Finding:
    """How an invariant stands: what was found, in words, how many, and the ids of what it is of."""

    invariant: Invariant
    standing: Standing
    found: str
    count: int = 0
    subjects: tuple[str, ...] = ()

    @property
    def is_broken(self) -> bool:
        """Whether something has to be done."""
        return self.standing is Standing.BROKEN


@dataclass(frozen=True, slots=True)
class Patience:
    """For how long something may take before it is a fault; all of it counts by that of a tick."""

    tick: timedelta = timedelta(seconds=10)

    def times(self, factor: float) -> timedelta:
        """So many times the patience with a tick."""
        return self.tick * factor


def holds(invariant: Invariant, found: str) -> Finding:
    """It is as it should be."""
    return Finding(invariant, Standing.HOLDS, found)


def idle(invariant: Invariant, found: str) -> Finding:
    """There is nothing to ask it of, and why."""
    return Finding(invariant, Standing.IDLE, found)


def broken(
    invariant: Invariant, found: str, count: int = 1, subjects: Sequence[str] = ()
) -> Finding:
    """It is not as it should be."""
    return Finding(invariant, Standing.BROKEN, found, count, tuple(subjects))


def of_each(
    invariant: Invariant, subjects: Sequence[str], fine: str, one: str, many: str
) -> Finding:
    """Broken by each of `subjects`; `one` and `many` say of what, `fine` that there is none."""
    if not subjects:
        return holds(invariant, fine)
    words = f"1 {one}" if len(subjects) == 1 else f"{len(subjects)} {many}"
    return broken(invariant, f"{words}: {named(subjects)}", len(subjects), subjects)


def named(subjects: Sequence[str]) -> str:
    """The first of them by name, and how many more there are."""
    more = len(subjects) - NAMED
    return ", ".join(subjects[:NAMED]) + (f" and {more} more" if more > 0 else "")


def ago(then: datetime, now: datetime) -> str:
    """How long ago an instant was, roughly: `12 s`, `5 min`, `3 h`, `2 days`."""
    return lasted(now - then)


def lasted(length: timedelta) -> str:
    """A length of time, roughly and in words."""
    seconds = max(0, int(length.total_seconds()))
    for unit, size, until in (("s", 1, 120), ("min", 60, 7_200), ("h", 3_600, 172_800)):
        if seconds < until:
            return f"{seconds // size} {unit}"
    return f"{seconds // 86_400} days"
