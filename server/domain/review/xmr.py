"""The XmR chart: one value at a time, judged by how far it moves from one to the next.

Source: NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2, "Individuals control charts". The
centre is the mean, the limits lie 3 / 1.128 mean moving ranges from it; the limit of the moving
ranges is 3.267 times their mean. The factors are taken as printed there, not the rounded 2.66.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from statistics import mean
from typing import Final

from server.domain.review.control_chart import SIGMAS, ControlChart, Point, phases_of

D2: Final = 1.128
"""The mean range of two normal values, in their standard deviations."""
D4: Final = 3.267
"""The upper limit of the moving ranges, in means of them."""

Values = Sequence[float | None]


@dataclass(frozen=True, slots=True)
class XmR:
    """Two charts over the same places: the values, and each one's distance to the one before."""

    values: ControlChart
    ranges: ControlChart


def xmr(
    values: Values,
    starts: Sequence[int] = (),
    *,
    floor: float | None = None,
    ceiling: float | None = None,
) -> XmR:
    """Answer both charts, in the unit of the values.

    A value of None keeps its place; the value after it is compared with the last one there was.
    The centre and the limits are worked out anew from each place of `starts` on, and no moving
    range reaches across it. One value alone has a centre and no limits. `floor` and `ceiling` say
    what values can be, and cut the limits. Raises `ValueError` for a start that is no place.
    """
    drawn: list[Point] = []
    moved: list[Point] = []
    for phase, places in enumerate(phases_of(len(values), starts)):
        theirs = values[places.start : places.stop]
        ranges = _ranges(theirs)
        spread = _mean(ranges)
        sigma = None if spread is None else spread / D2
        drawn += _points(theirs, _mean(theirs), sigma, phase, floor, ceiling)
        moved += _points(ranges, spread, _range_sigma(spread), phase, 0.0, None)
    return XmR(ControlChart(tuple(drawn)), ControlChart(tuple(moved)))


def _ranges(values: Values) -> Values:
    there = [place for place, value in enumerate(values) if value is not None]
    found: list[float | None] = [None] * len(values)
    for before, place in pairwise(there):
        found[place] = abs(_at(values, place) - _at(values, before))
    return found


def _at(values: Values, place: int) -> float:
    value = values[place]
    assert value is not None  # noqa: S101 - only places with a value come here
    return value


def _mean(values: Iterable[float | None]) -> float | None:
    """Summed exactly, so that the mean of equal values is that value."""
    there = [value for value in values if value is not None]
    return mean(there) if there else None


def _range_sigma(spread: float | None) -> float | None:
    return None if spread is None else (D4 - 1) * spread / SIGMAS


def _points(
    values: Values,
    centre: float | None,
    sigma: float | None,
    phase: int,
    floor: float | None,
    ceiling: float | None,
) -> list[Point]:
    if centre is None or sigma is None:
        return [Point(value, centre, None, None, None, phase) for value in values]
    low, high = centre - SIGMAS * sigma, centre + SIGMAS * sigma
    low = low if floor is None else max(floor, low)
    high = high if ceiling is None else min(ceiling, high)
    return [Point(value, centre, sigma, low, high, phase) for value in values]
