"""The funnel plot: the rates of wards against how much they did, with exact limits of chance.

Source: Spiegelhalter DJ, "Funnel plots for comparing institutional performance", Stat Med
2005;24:1185-1202, appendix A.1: exact binomial limits about a target, interpolated between whole
counts, so that the curves fall evenly. The limits leave 2.5 % and 0.1 % on each side and allow for
chance only: wards that differ in their patients pass them more often.
"""

from bisect import bisect_left
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import accumulate
from math import fsum
from typing import Final

P_95: Final = (0.025, 0.975)
P_998: Final = (0.001, 0.999)
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
    if owed < 1 or not 0 <= target <= 1:
        raise ValueError(f"{owed} owed, target {target}; expected 1 or more, and 0 to 1")
    first, chances = _binomial(owed, target)
    below = [*accumulate(chances)]
    low_998, low_95, high_95, high_998 = (
        max(0.0, _quantile(p, first, chances, below) / owed)
        for p in (P_998[0], P_95[0], P_95[1], P_998[1])
    )
    return Limits(low_998, low_95, high_95, high_998)


def standing(met: int, owed: int, target: float) -> Standing:
    """Answer where a ward lies that met so many of so many owed. Errors as `funnel_limits`."""
    limits, rate = funnel_limits(owed, target), met / owed
    if rate > limits.high_95:
        return Standing.ABOVE_998 if rate > limits.high_998 else Standing.ABOVE_95
    if rate < limits.low_95:
        return Standing.BELOW_998 if rate < limits.low_998 else Standing.BELOW_95
    return Standing.INSIDE


def _quantile(p: float, first: int, chances: Sequence[float], below: Sequence[float]) -> float:
    """The count that a part `p` does not pass, interpolated towards the count before it."""
    place = bisect_left(below, p)
    return first + place - (below[place] - p) / chances[place]


def _binomial(owed: int, target: float) -> tuple[int, list[float]]:
    """The first count that has a chance worth the name, and the chance of each from there on.

    Walked both ways from the likeliest count and scaled to one at last: the logarithms of large
    factorials would lose digits.
    """
    likeliest = min(owed, int((owed + 1) * target))
    fewer = [
        *_walk((at / (owed - at + 1)) * (1 - target) / target for at in range(likeliest, 0, -1))
    ]
    more = [*_walk((owed - at) / (at + 1) * target / (1 - target) for at in range(likeliest, owed))]
    parts = [*reversed(fewer), 1.0, *more]
    whole = fsum(parts)
    return likeliest - len(fewer), [part / whole for part in parts]


def _walk(factors: Iterable[float]) -> Iterator[float]:
    """Go on from 1 by one factor after the other, as long as it comes to something."""
    part = 1.0
    for factor in factors:
        part *= factor
        if part < _NOTHING:
            return
        yield part
