"""Chance that can be asked again: the same seed and the same labels give the same answer.

Nothing is remembered between two questions, so a shift that is stopped and started again goes on
as if it had never stopped.
"""

from collections.abc import Sequence
from datetime import timedelta
from hashlib import blake2b
from typing import TypeVar

Item = TypeVar("Item")


def share(seed: int, *labels: object) -> float:
    """A number from 0 up to, but not including, 1."""
    text = "\x1f".join(str(label) for label in (seed, *labels))
    return int.from_bytes(blake2b(text.encode(), digest_size=6).digest(), "big") / 2**48


def between(low: float, high: float, seed: int, *labels: object) -> float:
    """A number from `low` up to `high`."""
    return low + (high - low) * share(seed, *labels)


def minutes(low: float, high: float, seed: int, *labels: object) -> timedelta:
    """A duration of `low` to `high` minutes, in whole seconds."""
    return timedelta(seconds=round(60 * between(low, high, seed, *labels)))


def one_of(items: Sequence[Item], seed: int, *labels: object) -> Item:
    """One of the items, each as likely as the others."""
    return items[int(share(seed, *labels) * len(items))]


def happens(odds: float, seed: int, *labels: object) -> bool:
    """Whether something of these odds (0 to 1) happens."""
    return share(seed, *labels) < odds
