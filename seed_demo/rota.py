"""Who is on the ward when: twelve-hour shifts in turn, with their breaks."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from seed_demo.staff import TEAMS, Team

MINUTE: Final = timedelta(minutes=1)
LENGTH: Final = 720 * MINUTE
BEFORE: Final = 305 * MINUTE
"""How long the first shift has been on when the demonstration begins: two are at lunch then."""

_BREAKS: Final = ((120, 35, 1, 20), (290, 30, 2, 30), (520, 25, 1, 20))
"""Of each break: the first one's minute of the shift, steps, how many go together, length."""


@dataclass(frozen=True, slots=True)
class Duty:
    """One person's shift. `breaks` are pairs of instants, in order."""

    staff_id: str
    starts_at: datetime
    ends_at: datetime
    breaks: tuple[tuple[datetime, datetime], ...]

    def is_free(self, at: datetime) -> bool:
        """Whether the person is on the ward and not on a break."""
        return self.starts_at <= at < self.ends_at and not any(
            begins <= at < ends for begins, ends in self.breaks
        )

    def is_free_until(self, at: datetime, until: datetime) -> bool:
        """Whether the person stays on the ward from one instant to another."""
        away = [*self.breaks, (self.ends_at, self.ends_at + LENGTH)]
        return self.is_free(at) and not any(at <= begins < until for begins, _ in away)


@dataclass(frozen=True, slots=True)
class Shift:
    """One shift of a team: its place in the row from 0, the charge nurse's duty, the nurses'."""

    number: int
    charge: Duty
    nurses: tuple[Duty, ...]

    @property
    def everybody(self) -> tuple[Duty, ...]:
        """All duties, the charge nurse's first."""
        return (self.charge, *self.nurses)


def shift_number(start: datetime, at: datetime) -> int:
    """Which shift is on at an instant, for a demonstration that began at `start`."""
    return (at - (start - BEFORE)) // LENGTH


def shift_of(start: datetime, number: int) -> Shift:
    """The shift of a number, with everybody's breaks."""
    begins = start - BEFORE + number * LENGTH
    team: Team = TEAMS[number % len(TEAMS)]
    nurses = tuple(_duty(nurse.id, begins, place) for place, nurse in enumerate(team.nurses))
    return Shift(number, _duty(team.charge.id, begins, len(nurses)), nurses)


def shift_at(start: datetime, at: datetime) -> Shift:
    """The shift that is on at an instant."""
    return shift_of(start, shift_number(start, at))


def _duty(staff_id: str, begins: datetime, place: int) -> Duty:
    breaks = []
    for first, step, together, length in _BREAKS:
        at = begins + (first + step * (place // together)) * MINUTE
        breaks.append((at, at + length * MINUTE))
    return Duty(staff_id, begins, begins + LENGTH, tuple(breaks))
