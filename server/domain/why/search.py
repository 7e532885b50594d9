"""The smallest step that changes an answer, tried and not reckoned."""

from collections.abc import Callable
from functools import cache
from typing import Final

MOST_TRIED: Final = 1_440
"""How many steps are tried one by one: a day of minutes. Some 0.1 s of runs of the engine."""


def smallest(works: Callable[[int], bool], most: int) -> int | None:
    """Answer the smallest of the steps 1 … `most` that works, None where none does.

    0 is what happened and is known not to work. The answer was tried, and so was the step below it:
    it does not work. Steps double until one works, and what lies between is halved. That is the
    smallest one only where what works at a step works at every further one up to `most`, so `most`
    has to be chosen such that an act moved so far has not left the place in which it is looked at.
    Where not even `most` works there may still be a window before it, such as the one of a check
    that a set moved further would leave at its other end: then each step is tried.
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
    return high
