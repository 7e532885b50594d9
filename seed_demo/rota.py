"""Who is on the ward when: twelve-hour shifts in turn, with breaks, duties and beds."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from seed_demo.staff import TEAMS, Person, Team

MINUTE: Final = timedelta(minutes=1)
LENGTH: Final = 720 * MINUTE
BEFORE: Final = 305 * MINUTE
"""How long the first shift has been on when the demonstration begins: two are at lunch then."""

_BREAKS: Final = ((120, 35, 1, 20), (290, 30, 2, 30), (520, 25, 1, 20))
"""Of each break: the first one's minute of the shift, steps, how many go together, length."""

_CHARGE: Final = 5
"""Whoever is in charge goes on a break after five nurses; whoever reads along, after that."""

_DUTIES: Final = {
    0: ((350, 25, "medicine round"),),
    1: ((70, 20, "medicine round"), (560, 30, "teaching")),
    2: ((415, 30, "admission"),),
    3: ((600, 25, "medicine round"),),
    4: ((470, 30, "admission"),),
    _CHARGE: ((30, 20, "ward round"), (430, 20, "bed meeting")),
}
"""Of each place: minute of the shift, length, name."""

_BEDS: Final = (
    ("7", "9", "13", "21"),
    ("2", "5", "14", "20"),
    ("1", "3", "4", "12", "17"),
    ("10", "11", "16", "19", "22"),
    ("6", "8", "15", "18", "23", "24"),
)
"""Of each place that has beds."""


@dataclass(frozen=True, slots=True)
class Away:
    """Something fixed away from the units, from one instant to another."""

    begins: datetime
    ends: datetime
    name: str


@dataclass(frozen=True, slots=True)
class Duty:
    """One person's shift. `breaks` are pairs of instants, in order.

    `beds` are the ones they were given, none: none in particular. Without `may_start` they are the
    second person at checks and have no units.
    """

    staff_id: str
    starts_at: datetime
    ends_at: datetime
    breaks: tuple[tuple[datetime, datetime], ...]
    duties: tuple[Away, ...] = ()
    beds: tuple[str, ...] = ()
    may_start: bool = True

    @property
    def away(self) -> tuple[tuple[datetime, datetime], ...]:
        """When they cannot work on units: breaks and duties."""
        return (*self.breaks, *((duty.begins, duty.ends) for duty in self.duties))

    def is_free(self, at: datetime) -> bool:
        """Whether the person is on the ward, on no break and at no other duty."""
        return self.starts_at <= at < self.ends_at and not any(
            begins <= at < ends for begins, ends in self.away
        )

    def is_free_until(self, at: datetime, until: datetime) -> bool:
        """Whether the person stays on the ward from one instant to another."""
        away = [*self.away, (self.ends_at, self.ends_at + LENGTH)]
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

    @property
    def givers(self) -> tuple[Duty, ...]:
        """The duties of those who may start units."""
        return tuple(duty for duty in self.nurses if duty.may_start)

    def duty_of(self, staff_id: str | None) -> Duty | None:
        """Somebody's duty, None for whoever is not on this shift."""
        return next((duty for duty in self.everybody if duty.staff_id == staff_id), None)


def shift_number(start: datetime, at: datetime) -> int:
    """Which shift is on at an instant, for a demonstration that began at `start`."""
    return (at - (start - BEFORE)) // LENGTH


def shift_of(start: datetime, number: int) -> Shift:
    """The shift of a number, with everybody's breaks and duties."""
    begins = start - BEFORE + number * LENGTH
    team: Team = TEAMS[number % len(TEAMS)]
    places = (*range(_CHARGE), _CHARGE + 1)
    nurses = tuple(
        _duty(nurse, begins, place) for nurse, place in zip(team.nurses, places, strict=True)
    )
    return Shift(number, _duty(team.charge, begins, _CHARGE), nurses)


def shift_at(start: datetime, at: datetime) -> Shift:
    """The shift that is on at an instant."""
    return shift_of(start, shift_number(start, at))


def _duty(person: Person, begins: datetime, place: int) -> Duty:
    duties = (
        Away(begins + first * MINUTE, begins + (first + length) * MINUTE, name)
        for first, length, name in _DUTIES.get(place, ())
    )
    return Duty(
        staff_id=person.id,
        starts_at=begins,
        ends_at=begins + LENGTH,
        breaks=tuple(_breaks(begins, place)),
        duties=tuple(duties),
        beds=_BEDS[place] if place < len(_BEDS) else (),
        may_start=person.may_start,
    )


def _breaks(begins: datetime, place: int) -> Iterator[tuple[datetime, datetime]]:
    for first, step, together, length in _BREAKS:
        at = begins + (first + step * (place // together)) * MINUTE
        yield at, at + length * MINUTE
