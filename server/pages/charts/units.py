"""What the values of a chart are, and how they are written."""

from collections.abc import Callable
from dataclasses import dataclass
from math import inf
from typing import Final

_SPACE: Final = "\u00a0"
_WHOLE: Final = 100


@dataclass(frozen=True, slots=True)
class Unit:
    """How values are written, the least span of an axis of them, and what they can be."""

    write: Callable[[float], str]
    least: float
    within: tuple[float, float]


def percent(fraction: float) -> str:
    """Write a fraction in per cent: whole, but never 0 or 100 for what is not quite that."""
    rounded = round(_WHOLE * fraction)
    if rounded in (0, _WHOLE) and fraction not in (0, 1):
        tenths = min(max(round(_WHOLE * fraction, 1), 0.1), 99.9)
        return f"{tenths:g}{_SPACE}%"
    return f"{rounded}{_SPACE}%"


def percents(low: float, high: float) -> str:
    """Write two fractions in per cent, `91 % to 96 %`; the one figure where they are one."""
    return percent(low) if low == high else f"{percent(low)} to {percent(high)}"


def minutes(value: float) -> str:
    """Write minutes, to the tenth below ten and whole from there on."""
    return f"{round(value, 1 if value < 10 else None):g}{_SPACE}min"  # noqa: PLR2004 - as said


PERCENT: Final = Unit(percent, least=0.1, within=(0.0, 1.0))
MINUTES: Final = Unit(minutes, least=10.0, within=(0.0, inf))
