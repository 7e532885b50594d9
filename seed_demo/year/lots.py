"""Drawing by lot from a seed: each unit has a generator of its own, whatever came before it."""

from collections.abc import Sequence
from datetime import timedelta
from math import exp, log
from random import Random
from typing import Final, TypeVar

Item = TypeVar("Item")

SECONDS: Final = 60


def lots(seed: int, *labels: object) -> Random:
    """A generator of its own for whatever the labels name."""
    return Random(" ".join(map(str, (seed, *labels))))


def minutes(rng: Random, low: float, high: float) -> timedelta:
    """A duration of `low` to `high` minutes, in whole seconds."""
    return timedelta(seconds=round(SECONDS * rng.uniform(low, high)))


def about(rng: Random, minute: float, spread: float) -> timedelta:
    """A duration of about so many minutes, mostly within one spread of it, in whole seconds."""
    return timedelta(seconds=round(SECONDS * rng.gauss(minute, spread)))


def skewed(rng: Random, median: float, spread: float = 0.35) -> timedelta:
    """A duration with a long tail, as waiting for others has: log-normal about its median."""
    return timedelta(seconds=round(SECONDS * exp(rng.gauss(log(median), spread))))


def weighted(rng: Random, pairs: Sequence[tuple[Item, int]]) -> Item:
    """One of the items, as often as its weight says."""
    return rng.choices([item for item, _ in pairs], [weight for _, weight in pairs])[0]
