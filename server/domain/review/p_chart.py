"""The p-chart: a fraction counted again and again in subgroups of varying size.

Source: NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.3.2, "Proportions control charts". The
centre is all that was counted over all there were; the limits of a subgroup of n lie 3 times
sqrt(centre (1 - centre) / n) from it, cut to 0 and 1.
"""

from collections.abc import Iterable, Sequence
from math import sqrt

from server.domain.review.control_chart import SIGMAS, ControlChart, Point, phases_of

Subgroup = tuple[int, int]
"""How many were counted, of how many."""


def p_chart(subgroups: Sequence[Subgroup], starts: Sequence[int] = ()) -> ControlChart:
    """Answer the chart of the subgroups, fractions of 0 to 1.

    A subgroup of none keeps its place, has no value and moves no limit. The centre and the limits
    are worked out anew from each place of `starts` on. Raises `ValueError` for a subgroup whose
    count is not within 0 and its size, or for a start that is no place.
    """
    for count, size in subgroups:
        if not 0 <= count <= size:
            raise ValueError(f"counted {count} of {size}; expected 0 <= counted <= size")
    points: list[Point] = []
    for phase, places in enumerate(phases_of(len(subgroups), starts)):
        theirs = subgroups[places.start : places.stop]
        centre = _together(theirs)
        points += [_point(count, size, centre, phase) for count, size in theirs]
    return ControlChart(tuple(points))


def _together(subgroups: Iterable[Subgroup]) -> float | None:
    counts, sizes = zip(*subgroups, strict=True)
    return sum(counts) / sum(sizes) if sum(sizes) else None


def _point(count: int, size: int, centre: float | None, phase: int) -> Point:
    if centre is None or not size:
        return Point(None, centre, None, None, None, phase)
    sigma = sqrt(centre * (1 - centre) / size)
    return Point(
        value=count / size,
        centre=centre,
        sigma=sigma,
        low=max(0.0, centre - SIGMAS * sigma),
        high=min(1.0, centre + SIGMAS * sigma),
        phase=phase,
    )
