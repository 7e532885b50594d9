"""Who works on a ward in a week: shifts of twelve hours with breaks, and calls to elsewhere."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from seed_demo import chance
from server.domain.workload.capacity import Duty, OnDuty
from server.domain.workload.period import Period
from tests.benchmarks.week.demand import DAYS, MINUTE, MONDAY

CHANGE: Final = 450 * MINUTE
"""Half past seven, and again twelve hours later."""

LENGTH: Final = 720 * MINUTE
BREAKS: Final = ((150, 20), (290, 30), (520, 20))
STEP: Final = 25
"""Nurses go on a break one after the other."""

ROUND: Final = (60, 40)
"""Minute of the shift and length of a round that everybody has, one after the other."""

CALLED_AWAY: Final = (3, 10, 30)
"""How often a nurse is called away in a shift at most, for how many minutes."""


@dataclass(frozen=True, slots=True)
class Turn:
    """One person's shift, and when they are called away in it, which no plan knows."""

    duty: OnDuty
    calls: tuple[Period, ...]

    @property
    def staff_id(self) -> str:
        """Whose it is."""
        return self.duty.staff_id

    def is_here(self, at: datetime) -> bool:
        """Whether they are on the ward and free for units."""
        away = (*self.duty.away, *self.calls)
        return self.duty.period.contains(at) and not any(one.contains(at) for one in away)

    def is_known_free(self, period: Period) -> bool:
        """Whether, as far as anybody can know, they are."""
        return self.duty.is_free(period)


def turns_of(seed: int, ward: int, nurses: tuple[int, int]) -> list[Turn]:
    """Every shift of a ward's week and the day after; so many nurses by day and by night.

    Each shift has one more person who is in charge: the second at checks, who starts nothing.
    """
    return [turn for number in range(2 * (DAYS + 1)) for turn in _shift(seed, ward, nurses, number)]


def _shift(seed: int, ward: int, nurses: tuple[int, int], number: int) -> Iterator[Turn]:
    begins = MONDAY - LENGTH + CHANGE + number * LENGTH
    # The first begins on the evening before, so that the week begins with somebody there.
    count = nurses[0] if number % 2 else nurses[1]
    for place in range(count + 1):
        name = f"w{ward}-s{number}-{place}"
        whole = Period(begins, begins + LENGTH)
        duty = OnDuty(
            shift_id=name,
            staff_id=name,
            period=whole,
            breaks=tuple(_at(begins, first + STEP * place, lasts) for first, lasts in BREAKS),
            duties=(Duty(_at(begins, ROUND[0] + STEP * place, ROUND[1]), "round"),),
            may_start=place < count,
        )
        yield Turn(duty, tuple(_calls(seed, name, begins)))


def _calls(seed: int, name: str, begins: datetime) -> Iterator[Period]:
    most, low, high = CALLED_AWAY
    for n in range(most):
        if chance.happens(0.5, seed, name, n, "called away"):
            minute = round(chance.between(0, 690, seed, name, n, "minute"))
            yield _at(begins, minute, round(chance.between(low, high, seed, name, n, "lasts")))


def _at(begins: datetime, minute: int, lasts: int) -> Period:
    at = begins + minute * MINUTE
    return Period(at, at + timedelta(minutes=lasts))
