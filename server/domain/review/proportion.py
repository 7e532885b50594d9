"""A part of counted things, and the interval that chance leaves open around it.

Source: Wilson's score interval without continuity correction, as in Newcombe RG, "Two-sided
confidence intervals for the single proportion", Stat Med 1998;17:857-872, method 3. It stays inside
0 to 1 and tells something where nothing or everything was met.
"""

from dataclasses import dataclass
from math import sqrt
from typing import Final

Z_95: Final = 1.959963984540054
"""The quantile of the normal distribution that leaves 2.5 % above it."""


@dataclass(frozen=True, slots=True)
class Interval:
    """From `low` to `high`, both fractions of 0 to 1."""

    low: float
    high: float


def wilson(met: int, owed: int) -> Interval | None:
    """Answer the 95 % interval of `met` out of `owed`, None where none is owed.

    Its low end is exactly 0 where none was met, its high end exactly 1 where all were. Raises
    `ValueError` unless 0 <= met <= owed.
    """
    if not 0 <= met <= owed:
        raise ValueError(f"met {met} of owed {owed}; expected 0 <= met <= owed")
    if not owed:
        return None
    share, squared = met / owed, Z_95**2
    middle = share + squared / (2 * owed)
    half = Z_95 * sqrt(share * (1 - share) / owed + squared / (4 * owed**2))
    whole = 1 + squared / owed
    return Interval(
        low=(middle - half) / whole if met else 0.0,
        high=(middle + half) / whole if met < owed else 1.0,
    )
