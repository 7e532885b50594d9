"""The smallest step that changes an answer, tried and not reckoned."""

from collections.abc import Callable
from functools import cache
from typing import Final

ALL_TRIED: Final = 240
"""Up to here every step below the answer is tried as well: four hours of minutes, 15 ms of runs."""
MOST_TRIED: Final = 1_440
"""How many steps are tried one by one where halving finds none: a day of minutes."""


def smallest(works: Callable[[int], bool], most: int) -> int | None:
    """Answer the smallest of the steps 1 … `most` that works, None where none does.

    0 is what happened and is known not to work. The answer was tried, and so was the step below it:
    it does not work. Steps double until one works, and what lies between is halved. What works need
    not work at every further step: an act moved on may leave the window in which it counts, or come
    before another one. So each step below the answer is tried too, up to `ALL_TRIED`; above that it
    is the smallest one only where there is a single turn, which `most` has to see to. Where not
    even `most` works there may be a window before it: then each step is tried, up to `MOST_TRIED`.
    """
    tried = cache(works)
    low, high = 0, min(1, most)
    while high < most and not tried(high):
        low, high = high, min(high * 2, most)
    if high < 1 or not tried(high):
        return next((step for step in range(1, min(most, MOST_TRIED) + 1) if tried(step)), None)
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if tried(middle) else (middle, high)
    if high > ALL_TRIED:
        return high
    return next(step for step in range(1, high + 1) if tried(step))
