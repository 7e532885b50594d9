"""A control chart: values in their order, a centre, and limits that chance seldom passes."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

SIGMAS: Final = 3
"""The limits lie so many standard errors from the centre (Shewhart)."""
FEW: Final = 12
"""Limits from fewer values are a first try (Provost and Murray, The Health Care Data Guide: trial
limits from 12 values, limits to keep from 20; from memory)."""


@dataclass(frozen=True, slots=True)
class Point:
    """One place of the chart, in the unit of its values.

    `value` is None where there was nothing to count. `low` and `high` are the limits as drawn, cut
    to what the values can be; they are None where no limits can be worked out. `sigma` is a third
    of the way from the centre to an uncut limit. `phase` counts from 0.
    """

    value: float | None
    centre: float | None
    sigma: float | None
    low: float | None
    high: float | None
    phase: int


@dataclass(frozen=True, slots=True)
class ControlChart:
    """The places in their order, those without a value among them."""

    points: tuple[Point, ...]

    @property
    def is_trial(self) -> bool:
        """Whether any phase has too few values for limits to keep."""
        counts: dict[int, int] = {}
        for point in self.points:
            counts[point.phase] = counts.get(point.phase, 0) + (point.value is not None)
        return any(count < FEW for count in counts.values())


def phases_of(length: int, starts: Sequence[int]) -> tuple[range, ...]:
    """Answer the places of each phase of a chart; a new one begins at each of `starts`.

    Raises `ValueError` for a start that is no place of the chart.
    """
    for start in starts:
        if not 0 <= start < length:
            raise ValueError(f"phase starts at {start}; expected a place from 0 to {length - 1}")
    edges = sorted({0, length, *starts})
    return tuple(range(first, last) for first, last in pairwise(edges))
