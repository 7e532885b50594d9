"""How a limit stood as it was known then: what each entry told of it, and what was shown until.

A board shows what is known. A set that is charted late leaves its check standing as passed, though
it was done in time; a start that is charted late shows its checks only when they may be over.
"""

from dataclasses import dataclass
from datetime import UTC, datetime
from itertools import pairwise
from typing import Final, NamedTuple

from server.domain.clock import BREACHED, SECOND, Clock, state_at
from server.domain.picture import Case, picture
from server.domain.words import ClockName
from server.domain.workload.period import Period
from server.domain.workload.periods import merged

LAST: Final = datetime.max.replace(tzinfo=UTC)


class Known(NamedTuple):
    """What was known of a clock from `since` on; no `clock`: the unit was not known to owe it."""

    since: datetime
    clock: Clock | None


@dataclass(frozen=True, slots=True)
class Course:
    """What was known of one clock, the earliest first; each differs from the one before."""

    known: tuple[Known, ...]
    until: datetime

    @property
    def told_at(self) -> datetime | None:
        """When the entry came that tells when it was met; None while nobody has met it."""
        last = self.known[-1].clock if self.known else None
        if last is None or last.met_at is None:
            return None
        return next(one.since for one in self.known if _meets(one, last.met_at))

    @property
    def first_known_at(self) -> datetime | None:
        """Since when the unit was known to owe it."""
        return self.known[0].since if self.known else None

    @property
    def moved(self) -> tuple[Known, ...]:
        """The entries that moved its limit."""
        stood = [one for one in self.known if one.clock is not None]
        return tuple(two for one, two in pairwise(stood) if _limit_of(one) != _limit_of(two))

    @property
    def shown(self) -> tuple[tuple[datetime, datetime], ...]:
        """When a board that was looked at showed it as passed and not done: from, until before.

        A limit that can no longer be met is shown no more, unless it was missed from the first.
        """
        ends = [*(one.since for one in self.known[1:]), self.until + SECOND]
        parts = (_shown(one, end) for one, end in zip(self.known, ends, strict=True))
        shown = merged(part for part in parts if part is not None)
        return tuple((part.from_at, part.until_at) for part in shown)


def course_of(case: Case, name: ClockName, n: int, until: datetime) -> Course:
    """Answer what was known of a clock of a unit up to an instant, as one entry followed another.

    Raises `Refused` where what was known at some instant could not have been.
    """
    learnt = sorted({event.recorded_at for event in case.events if event.recorded_at <= until})
    known: list[Known] = []
    for at in learnt:
        clock = clock_of(case.known(known_at=at), name, n, at)
        if clock != (known[-1].clock if known else None):
            known.append(Known(at, clock))
    return Course(tuple(known), until)


def clock_of(case: Case, name: ClockName, n: int, now: datetime) -> Clock | None:
    """Answer one clock of a unit, None if the unit does not owe it."""
    clocks = (clock for clock, _ in picture(case, now).clocks)
    return next((clock for clock in clocks if (clock.name, clock.n) == (name, n)), None)


def _meets(one: Known, met_at: datetime) -> bool:
    return one.clock is not None and one.clock.met_at == met_at


def _limit_of(one: Known) -> datetime | None:
    return None if one.clock is None else one.clock.limit_at


def _shown(one: Known, end: datetime) -> Period | None:
    """The stretch before `end` in which what was known stood as passed and not done."""
    clock = one.clock
    if clock is None or clock.met_at is not None or clock.limit_at is None:
        return None
    over = clock.over_at
    if over is not None and over > clock.limit_at:
        end = min(end, over)
    begins = max(one.since, min(clock.limit_at + SECOND, over or LAST))
    shows = begins < end and state_at(clock, begins) in BREACHED
    return Period(begins, end) if shows else None
