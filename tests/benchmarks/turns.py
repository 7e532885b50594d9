"""Measure two things by turns, so that whatever else the machine does disturbs both alike."""

from collections.abc import Callable
from dataclasses import dataclass
from statistics import median
from time import perf_counter, process_time


@dataclass(frozen=True, slots=True)
class Pair:
    """The medians of what was measured, and the median of the ratios ours / bare of each round."""

    ours: float
    bare: float
    ratio: float


def by_turns(rounds: int, ours: Callable[[], float], bare: Callable[[], float]) -> Pair:
    """Call both as often, each first in every other round; they answer what they measured."""
    measured: list[tuple[float, float]] = []
    for number in range(rounds):
        if number % 2:
            behind, ahead = bare(), ours()
            measured.append((ahead, behind))
        else:
            measured.append((ours(), bare()))
    return pair_of(measured)


def pair_of(measured: list[tuple[float, float]]) -> Pair:
    """The medians of rounds of (ours, bare)."""
    return Pair(
        median(first for first, _ in measured),
        median(second for _, second in measured),
        median(first / second for first, second in measured),
    )


def cpu_us(act: Callable[[], object], times: int) -> float:
    """The processor time of one call in microseconds, all threads of this process together."""
    begun = process_time()
    for _ in range(times):
        act()
    return (process_time() - begun) / times * 1e6


def wall_us(act: Callable[[], object], times: int) -> float:
    """The time of one call by the clock on the wall, in microseconds."""
    begun = perf_counter()
    for _ in range(times):
        act()
    return (perf_counter() - begun) / times * 1e6
