"""How long units took from their issue, as curves: all, by component, by hour of the day."""

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Final

from server.domain.review.counted import Late, PlaceWaited, Waited
from server.domain.review.quantiles import quantile
from server.domain.review.survival import Curve, Ended, kaplan_meier
from server.domain.words import ClockName, Component

HOURS: Final = 24
HALF: Final = 0.5
NINE_OF_TEN: Final = 0.9

_Counts = dict[int, tuple[int, int]]
"""For so many it had happened after so many minutes, so many were censored then."""


@dataclass(frozen=True, slots=True)
class Times:
    """Curves over minutes: of all units, by component, and by the hour they were issued in.

    Components of which no unit was issued are left out; the hours are those of the ward's day, 24.
    """

    whole: Curve
    by_component: Mapping[Component, Curve]
    by_hour: tuple[Curve, ...]


@dataclass(frozen=True, slots=True)
class Lateness:
    """By how many minutes limits of one clock were passed that were met late."""

    limits: int
    median: float
    p90: float
    most: int


def times_of(waited: Iterable[Waited]) -> Times:
    """Answer the curves of units that were counted in any order."""
    whole: _Counts = {}
    by_component: dict[Component | None, _Counts] = {}
    by_hour: list[_Counts] = [{} for _ in range(HOURS)]
    for one in waited:
        _add(whole, one)
        _add(by_component.setdefault(one.component, {}), one)
        _add(by_hour[one.hour], one)
    return Times(
        whole=_curve(whole),
        by_component={one: _curve(by_component[one]) for one in Component if one in by_component},
        by_hour=tuple(_curve(counts) for counts in by_hour),
    )


def times_by_place(waited: Iterable[PlaceWaited], places: int) -> tuple[Curve, ...]:
    """Answer a curve for each of so many places."""
    counted: list[_Counts] = [{} for _ in range(places)]
    for one in waited:
        _add(counted[one.place], one)
    return tuple(_curve(counts) for counts in counted)


def median_within(curve: Curve) -> float | None:
    """Answer the median of a curve over begun minutes, on the line inside the minute it falls in.

    None where the curve never comes to it. Whole minutes are too coarse where one median is
    compared with the next: a ward that never changes would move by a minute or not at all.
    """
    before = 1.0
    for step in curve.steps:
        if step.survival <= HALF:
            return max(0.0, step.minutes - 1 + (before - HALF) / (before - step.survival))
        before = step.survival
    return None


def lateness_by_clock(late: Iterable[Late]) -> dict[ClockName, Lateness]:
    """Answer how late limits were met, for each clock that has some that were."""
    minutes: dict[ClockName, Counter[int]] = {}
    for one in late:
        minutes.setdefault(one.clock, Counter())[one.minutes] += one.limits
    return {clock: _lateness([*minutes[clock].elements()]) for clock in minutes}


def _lateness(minutes: list[int]) -> Lateness:
    median, p90 = quantile(minutes, HALF), quantile(minutes, NINE_OF_TEN)
    assert median is not None  # noqa: S101 - there is a limit
    assert p90 is not None  # noqa: S101 - likewise
    return Lateness(len(minutes), median, p90, max(minutes))


def _add(counts: _Counts, one: Waited | PlaceWaited) -> None:
    events, censored = counts.get(one.minutes, (0, 0))
    if one.happened:
        counts[one.minutes] = (events + one.units, censored)
    else:
        counts[one.minutes] = (events, censored + one.units)


def _curve(counts: _Counts) -> Curve:
    return kaplan_meier(Ended(minutes, *both) for minutes, both in counts.items())
