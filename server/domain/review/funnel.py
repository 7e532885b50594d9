"""The funnel plot: the rates of wards against how much they did, with exact limits of chance.

Source: Spiegelhalter DJ, "Funnel plots for comparing institutional performance", Stat Med
2005;24:1185-1202 (its formula from memory): exact binomial limits about a target, interpolated
between whole counts, so that the curves fall evenly. The limits leave 2.5 % and 0.1 % on each side
and allow for chance only: wards that differ in their patients pass them more often.
"""

from bisect import bisect_left
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import accumulate
from math import fsum
from typing import Final

_PARTS: Final = (0.001, 0.025, 0.975, 0.999)
_NOTHING: Final = 1e-20
"""A count whose chance is less than this part of the likeliest one's is left out."""


@dataclass(frozen=True, slots=True)
class Limits:
    """Fractions of 0 to 1 between which chance keeps a ward of one size, 95 % and 99.8 % of it."""

    low_998: float
    low_95: float
    high_95: float
    high_998: float


class Standing(StrEnum):
    """Where a ward lies in the funnel."""

    INSIDE = "inside"
    ABOVE_95 = "above_95"
    ABOVE_998 = "above_998"
    BELOW_95 = "below_95"
    BELOW_998 = "below_998"


def funnel_limits(owed: int, target: float) -> Limits:
    """Answer the limits for a ward that owed so many, about a target fraction of 0 to 1.

    Raises `ValueError` for fewer than one owed or a target that is no fraction.
    """
    chances = _binomial(owed, target)
    return Limits(*(max(0.0, chances.between(p) / owed) for p in _PARTS))


def standing(met: int, owed: int, target: float) -> Standing:
    """Answer where a ward lies that met so many of so many owed, by whole counts.

    A ward is above 95 % if chance alone meets so many or more at most 2.5 % of the time. The curve
    of `funnel_limits` lies up to one count nearer to the target, so that a ward may touch it and be
    inside: with few owed and a high target all met is no surprise. Raises `ValueError` unless
    0 <= met <= owed, and as `funnel_limits`.
    """
    if not 0 <= met <= owed:
        raise ValueError(f"met {met} of owed {owed}; expected 0 <= met <= owed")
    chances = _binomial(owed, target)
    low_998, low_95, high_95, high_998 = (chances.count(p) for p in _PARTS)
    if met > high_95:
        return Standing.ABOVE_998 if met > high_998 else Standing.ABOVE_95
    if met < low_95:
        return Standing.BELOW_998 if met < low_998 else Standing.BELOW_95
    return Standing.INSIDE


@dataclass(frozen=True, slots=True)
class _Chances:
    """The chance of each count from `first` on, and of that count or fewer."""

    first: int
    each: Sequence[float]
    below: Sequence[float]

    def count(self, p: float) -> int:
        """The least count that chance does not pass in a part `p`."""
        return self.first + bisect_left(self.below, p)

    def between(self, p: float) -> float:
        """The same, interpolated towards the count before it."""
        place = bisect_left(self.below, p)
        return self.first + place - (self.below[place] - p) / self.each[place]


def _binomial(owed: int, target: float) -> _Chances:
    """The counts that have a chance worth the name.

    Walked both ways from the likeliest count and scaled to one at last: the logarithms of large
    factorials would lose digits.
    """
    if owed < 1 or not 0 <= target <= 1:
        raise ValueError(f"{owed} owed, target {target}; expected 1 or more, and 0 to 1")
    likeliest = min(owed, int((owed + 1) * target))
    fewer = [*_walk(at / (owed - at + 1) * (1 - target) / target for at in range(likeliest, 0, -1))]
    more = [*_walk((owed - at) / (at + 1) * target / (1 - target) for at in range(likeliest, owed))]
    parts = [*reversed(fewer), 1.0, *more]
    whole = fsum(parts)
    each = [part / whole for part in parts]
    return _Chances(likeliest - len(fewer), each, [*accumulate(each)])


def _walk(factors: Iterable[float]) -> Iterator[float]:
    """Go on from 1 by one factor after the other, as long as it comes to something."""
    part = 1.0
    for factor in factors:
        part *= factor
        if part < _NOTHING:
            return
        yield part
