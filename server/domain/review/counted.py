"""What a review is made from: numbers of like limits and of like units, never the units themselves.

Minutes are whole and begun ones count: what took 30 min and a second happened within 31 minutes.
"""

from collections.abc import Iterable, Mapping
from enum import StrEnum
from typing import Final, NamedTuple

from server.domain.review.rates import Tally
from server.domain.words import ClockName, ClockState, Component, Fate

RATED: Final[tuple[ClockName, ...]] = tuple(
    name for name in ClockName if name is not ClockName.LATE_WATCH
)
"""The clocks that have a rate; nothing meets the late watch."""

TALLY_OF: Final[Mapping[ClockState, Tally]] = {
    ClockState.MET: Tally(met=1),
    ClockState.MET_LATE: Tally(late=1),
    ClockState.MISSED: Tally(missed=1),
    ClockState.OVERDUE: Tally(missed=1),
}
"""What one clock adds to a tally; until somebody meets it, one that is overdue counts as missed."""

Tallies = dict[ClockName, Tally]


def summed(several: Iterable[Mapping[ClockName, Tally]]) -> Tallies:
    """Add tallies up by clock; every clock that has a rate is in the answer."""
    total: Tallies = dict.fromkeys(RATED, Tally())
    for tallies in several:
        for clock, tally in tallies.items():
            total[clock] += tally
    return total


class Until(StrEnum):
    """Until when the time of a unit is counted, from its issue on."""

    START = "start"
    END = "end"


class Waited(NamedTuple):
    """Units of one component, issued in one hour of the ward's day, that waited alike.

    `happened`: after so many minutes they were started, or had ended. Otherwise it had not happened
    until then, when the unit was sent back or discarded, or the review was asked for.
    """

    component: Component | None
    hour: int
    minutes: int
    happened: bool
    units: int


class PlaceWaited(NamedTuple):
    """Units that were issued in one place and waited alike."""

    place: int
    minutes: int
    happened: bool
    units: int


class Begun(NamedTuple):
    """Units that were started in one place, by day or in the ward's night."""

    place: int
    routine: bool
    at_night: bool
    units: int


class Late(NamedTuple):
    """Limits of one clock that were met so many minutes late."""

    clock: ClockName
    minutes: int
    limits: int


class Fated(NamedTuple):
    """Units that were issued and came to one end; `fate` None: none is recorded yet."""

    fate: Fate | None
    started: bool
    units: int
