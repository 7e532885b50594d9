"""Values along an axis, and round values to write beside it. Places are user units of a drawing."""

from collections.abc import Iterable
from dataclasses import dataclass
from math import ceil, floor, log10
from typing import Final, NamedTuple

MOST_TICKS: Final = 5
_ROUND: Final = (1, 2, 5, 10)
_DIGITS: Final = 9


class Tick(NamedTuple):
    """A place along an axis and what is written there."""

    at: float
    text: str


@dataclass(frozen=True, slots=True)
class Scale:
    """An axis: `low` lies at `start` and `high` at `end`."""

    low: float
    high: float
    start: float
    end: float

    def at(self, value: float) -> float:
        """Where a value lies; what is beyond an end of the axis lies on that end."""
        inside = min(self.high, max(self.low, value))
        part = (inside - self.low) / (self.high - self.low)
        return round(self.start + (self.end - self.start) * part, 1)

    def holds(self, value: float) -> bool:
        """Whether a value is on the axis."""
        return self.low <= value <= self.high


def round_values(low: float, high: float) -> tuple[float, ...]:
    """Answer round values in equal steps, the first at or below `low`, the last at or above `high`.

    `low` has to be below `high`.
    """
    raw = (high - low) / MOST_TICKS
    whole = 10.0 ** floor(log10(raw))
    step = next(one * whole for one in _ROUND if one * whole >= raw * (1 - 1e-9))
    first, last = floor(low / step + 1e-9), ceil(high / step - 1e-9)
    return tuple(round(place * step, _DIGITS) for place in range(first, last + 1))


def around(values: Iterable[float], least: float, within: tuple[float, float]) -> tuple[float, ...]:
    """Answer the round values of an axis that holds all the values and at least a span of `least`.

    Nothing outside `within`, what values can be, is on the axis.
    """
    listed = [*values] or [within[0]]
    low, high = min(listed), max(listed)
    room = max(0.0, least - (high - low)) / 2
    low, high = max(within[0], low - room), min(within[1], high + room)
    low, high = max(within[0], min(low, high - least)), min(within[1], max(high, low + least))
    return tuple(one for one in round_values(low, high) if within[0] <= one <= within[1])
