"""Special causes on a control chart, by named rules: what chance alone would seldom draw.

Sources: NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2 (the Western Electric rules and the
trend rule), and Nelson LS, "The Shewhart control chart: tests for special causes", J Qual Technol
1984;16:237-239 (rules 1, 3, 5 and 6 are the same; his rule 2 asks for nine in a row where Western
Electric asks for eight, which is taken). The rules of alternating and of hugging values are left
out: each rule more calls more often for nothing.

Limits may vary from place to place: each value is measured in its own standard errors, but a trend
is one of the values themselves. A place without a value is passed over. A value on the centre lies
on no side, and equal neighbours neither rise nor fall: both end a run. No run reaches from one
phase into the next.
"""

from collections.abc import Callable, Container, Iterable, Iterator
from dataclasses import dataclass
from enum import StrEnum
from itertools import groupby
from typing import Final

from server.domain.review.control_chart import SIGMAS, ControlChart


class Rule(StrEnum):
    """A rule by which values point to a special cause."""

    BEYOND_LIMITS = "beyond_limits"
    TWO_OF_THREE = "two_of_three"
    FOUR_OF_FIVE = "four_of_five"
    ONE_SIDE = "one_side"
    TREND = "trend"


WORDS: Final[dict[Rule, str]] = {
    Rule.BEYOND_LIMITS: "beyond a limit",
    Rule.TWO_OF_THREE: "two of three more than two thirds of the way to a limit",
    Rule.FOUR_OF_FIVE: "four of five more than a third of the way to a limit",
    Rule.ONE_SIDE: "eight or more in a row on one side of the centre",
    Rule.TREND: "six or more in a row, each higher or each lower than the one before",
}

ORDER: Final = tuple(Rule)
ONE_SIDE: Final = 8
TREND: Final = 6


@dataclass(frozen=True, slots=True)
class Signal:
    """Values that a rule points to: their places in the chart, and whether they are high.

    `is_up` means above the centre, or rising for a trend.
    """

    rule: Rule
    places: tuple[int, ...]
    is_up: bool


@dataclass(frozen=True, slots=True)
class _Placed:
    """A value with its place in the chart, its centre and its standard error."""

    place: int
    value: float
    centre: float
    sigma: float

    def is_above(self, sigmas: int) -> bool:
        """Whether it lies more than so many standard errors above its centre."""
        return self.value > self.centre + sigmas * self.sigma

    @property
    def mirrored(self) -> "_Placed":
        """The same upside down, so that a rule has to look upwards only."""
        return _Placed(self.place, -self.value, -self.centre, self.sigma)


_Run = list[_Placed]
_Look = Callable[[_Run], Iterator[_Run]]


def find_signals(chart: ControlChart, rules: Container[Rule] = ORDER) -> tuple[Signal, ...]:
    """Answer the signals of a chart by the rules asked for, by their first place.

    Of a chart of moving ranges only `BEYOND_LIMITS` means something. Values without limits have
    none.
    """
    asked = [rule for rule in ORDER if rule in rules]
    found = [
        Signal(rule, tuple(one.place for one in run), is_up)
        for phase in _phases(chart)
        for is_up, turned in ((True, phase), (False, [one.mirrored for one in phase]))
        for rule in asked
        for run in _LOOK[rule](turned)
    ]
    return tuple(sorted(found, key=lambda one: (one.places, ORDER.index(one.rule))))


def _phases(chart: ControlChart) -> Iterator[_Run]:
    """The values of each phase that have limits."""
    for _, points in groupby(enumerate(chart.points), key=lambda one: one[1].phase):
        yield [
            _Placed(place, point.value, point.centre, point.sigma)
            for place, point in points
            if point.value is not None and point.centre is not None and point.sigma is not None
        ]


def _beyond_limits(phase: _Run) -> Iterator[_Run]:
    return ([one] for one in phase if one.is_above(SIGMAS))


def _several(count: int, of: int, sigmas: int) -> _Look:
    """The rule that `count` of `of` in a row lie beyond; what shares a value is one signal."""

    def look(phase: _Run) -> Iterator[_Run]:
        far = [one.is_above(sigmas) for one in phase]
        windows = (range(first, first + of) for first in range(len(phase) - of + 1))
        runs = ([place for place in window if far[place]] for window in windows)
        for run in _joined(run for run in runs if len(run) >= count):
            yield [phase[place] for place in run]

    return look


def _joined(runs: Iterable[list[int]]) -> list[list[int]]:
    """Runs in their order, those that share a place as one."""
    joined: list[list[int]] = []
    for run in runs:
        if joined and run[0] <= joined[-1][-1]:
            joined[-1] += [place for place in run if place > joined[-1][-1]]
        else:
            joined.append(run)
    return joined


def _one_side(phase: _Run) -> Iterator[_Run]:
    sides = groupby(phase, key=lambda one: one.is_above(0))
    runs = (list(run) for is_there, run in sides if is_there)
    return (run for run in runs if len(run) >= ONE_SIDE)


def _trend(phase: _Run) -> Iterator[_Run]:
    runs: list[_Run] = []
    for one in phase:
        if runs and one.value > runs[-1][-1].value:
            runs[-1].append(one)
        else:
            runs.append([one])
    return (run for run in runs if len(run) >= TREND)


_LOOK: Final[dict[Rule, _Look]] = {
    Rule.BEYOND_LIMITS: _beyond_limits,
    Rule.TWO_OF_THREE: _several(2, of=3, sigmas=2),
    Rule.FOUR_OF_FIVE: _several(4, of=5, sigmas=1),
    Rule.ONE_SIDE: _one_side,
    Rule.TREND: _trend,
}
