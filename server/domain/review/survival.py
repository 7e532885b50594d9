"""How long something takes, when for some it had not happened yet: the Kaplan-Meier estimate.

Sources: Kaplan EL and Meier P, J Am Stat Assoc 1958;53:457-481; Greenwood's standard error; 95 %
intervals by the log(-log) transformation (Kalbfleisch and Prentice), which stay inside 0 to 1. A
unit that was sent back, or is still waiting, is *censored* at that time: until then it had not
happened, and no more is known of it. Where one happens and another is censored at the same time,
what happened comes first.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from math import exp, log, sqrt
from typing import Final

from server.domain.review.proportion import Z_95, Interval

_SAME: Final = 1e-9
"""Two parts that differ by less are the same: products of fractions are not exact."""


@dataclass(frozen=True, slots=True)
class Ended:
    """What ended at one time: for so many it happened, so many were censored. Minutes."""

    minutes: float
    events: int
    censored: int = 0


@dataclass(frozen=True, slots=True)
class Step:
    """The estimate from one time on.

    `at_risk` counts those for whom it had not happened just before. `survival` is the part, 0 to 1,
    for which it takes longer. `error` is its standard error by Greenwood, `interval` the 95 %
    interval; both are None where nobody is left, and the interval is none before the first event.
    """

    minutes: float
    at_risk: int
    events: int
    censored: int
    survival: float
    error: float | None
    interval: Interval | None


@dataclass(frozen=True, slots=True)
class Curve:
    """The estimate: a step at each time at which something ended, in order."""

    steps: tuple[Step, ...]

    @property
    def total(self) -> int:
        """How many it was estimated from."""
        return self.steps[0].at_risk if self.steps else 0

    @property
    def events(self) -> int:
        """For how many it happened."""
        return sum(step.events for step in self.steps)

    def survival_at(self, minutes: float) -> float:
        """Answer the part for which it takes longer than so many minutes."""
        passed = [step.survival for step in self.steps if step.minutes <= minutes]
        return passed[-1] if passed else 1.0

    def time_to(self, part: float) -> float | None:
        """Answer the first time by which it had happened for a part of 0 to 1, in minutes.

        None where the curve never comes to it, because too many were censored.
        """
        left = 1 - part + _SAME
        return next((one.minutes for one in self.steps if one.survival <= left), None)

    @property
    def median(self) -> float | None:
        """The time by which it had happened for half, in minutes; None: never reached."""
        return self.time_to(0.5)

    @property
    def p90(self) -> float | None:
        """The time by which it had happened for nine of ten, in minutes; None: never reached."""
        return self.time_to(0.9)


def kaplan_meier(ended: Iterable[Ended]) -> Curve:
    """Answer the curve of what ended, given in any order; equal times are taken together.

    Raises `ValueError` for a time or a count below 0.
    """
    times = _together(ended)
    return Curve(tuple(_steps(times, sum(events + lost for _, events, lost in times))))


def _together(ended: Iterable[Ended]) -> list[tuple[float, int, int]]:
    times: dict[float, tuple[int, int]] = {}
    for one in ended:
        if min(one.minutes, one.events, one.censored) < 0:
            raise ValueError(f"{one}; expected minutes and counts of 0 or more")
        events, lost = times.get(one.minutes, (0, 0))
        times[one.minutes] = (events + one.events, lost + one.censored)
    return [(at, *times[at]) for at in sorted(times) if any(times[at])]


def _steps(times: list[tuple[float, int, int]], at_risk: int) -> Iterator[Step]:
    survival, variance = 1.0, 0.0
    for at, events, lost in times:
        left = at_risk - events
        survival *= left / at_risk
        variance += events / (at_risk * left) if left else 0.0
        error = survival * sqrt(variance) if left else None
        yield Step(at, at_risk, events, lost, survival, error, _interval(survival, variance))
        at_risk = left - lost


def _interval(survival: float, variance: float) -> Interval | None:
    if not 0 < survival < 1:
        return None
    turned, half = log(-log(survival)), Z_95 * sqrt(variance) / log(survival)
    return Interval(exp(-exp(turned - half)), exp(-exp(turned + half)))
