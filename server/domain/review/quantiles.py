"""Quantiles of values that are all known.

Method: linear between the two nearest values, type 7 of Hyndman RJ and Fan Y, "Sample quantiles in
statistical packages", Am Stat 1996;50:361-365. It has to be said: others differ in small samples.
"""

from collections.abc import Iterable
from math import floor


def quantile(values: Iterable[float], part: float) -> float | None:
    """Answer the value that a `part` of 0 to 1 of the values does not exceed, in their unit.

    None where there are no values. Raises `ValueError` for a part outside 0 to 1.
    """
    if not 0 <= part <= 1:
        raise ValueError(f"part {part}; expected 0 to 1")
    ordered = sorted(values)
    if not ordered:
        return None
    place = part * (len(ordered) - 1)
    below = floor(place)
    above = min(below + 1, len(ordered) - 1)
    return ordered[below] + (ordered[above] - ordered[below]) * (place - below)
