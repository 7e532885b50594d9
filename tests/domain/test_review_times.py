"""Curves of what was counted, lateness, shares, days, and what stands beside published figures."""

from datetime import date

import pytest

from server.domain.review.audits import Measure
from server.domain.review.beside import Figures
from server.domain.review.counted import Late, PlaceWaited, Waited
from server.domain.review.days import Days
from server.domain.review.proportion import wilson
from server.domain.review.rates import ENOUGH, Tally
from server.domain.review.share import Share
from server.domain.review.survival import Ended, kaplan_meier
from server.domain.review.times import (
    Lateness,
    lateness_by_clock,
    median_within,
    times_by_place,
    times_of,
)
from server.domain.words import ClockName, Component

CELLS, PLASMA = Component.RED_CELLS, Component.PLASMA
NONE = kaplan_meier([])


def test_units_are_taken_together_and_by_component_and_by_hour() -> None:
    times = times_of(
        [
            Waited(PLASMA, 9, 20, True, 3),
            Waited(CELLS, 9, 20, True, 2),
            Waited(CELLS, 23, 20, False, 1),
            Waited(CELLS, 9, 35, True, 4),
            Waited(None, 0, 5, True, 1),
        ]
    )

    assert times.whole == kaplan_meier([Ended(5, 1), Ended(20, 5, 1), Ended(35, 4)])
    assert [*times.by_component] == [CELLS, PLASMA]
    assert times.by_component[CELLS] == kaplan_meier([Ended(20, 2, 1), Ended(35, 4)])
    assert times.by_component[PLASMA] == kaplan_meier([Ended(20, 3)])
    by_hour = {0: [Ended(5, 1)], 9: [Ended(20, 5), Ended(35, 4)], 23: [Ended(20, 0, 1)]}
    assert times.by_hour == tuple(kaplan_meier(by_hour.get(hour, [])) for hour in range(24))


def test_a_median_lies_inside_its_minute() -> None:
    """Of ten, two came in the minute up to 4 and six in that up to 5: half way in it lies 4.5."""
    halfway = [Ended(4, 2), Ended(5, 6), Ended(9, 2)]

    found = [
        median_within(kaplan_meier(ended))
        for ended in (halfway, [Ended(7, 1)], [Ended(0, 3)], [Ended(3, 1), Ended(9, 0, 5)], [])
    ]

    assert found == [pytest.approx(4.5), 6.5, 0.0, None, None]


def test_each_place_has_a_curve() -> None:
    waited = [PlaceWaited(2, 8, True, 1), PlaceWaited(0, 7, False, 2), PlaceWaited(2, 8, True, 4)]

    assert times_by_place(waited, 3) == (
        kaplan_meier([Ended(7, 0, 2)]),
        NONE,
        kaplan_meier([Ended(8, 5)]),
    )


def test_lateness_is_told_by_clock() -> None:
    late = [Late(ClockName.START, 4, 1), Late(ClockName.FATE, 9, 1), Late(ClockName.START, 14, 1)]

    # Linear between two values: half of 4 and 14, nine tenths of the way from 4 to 14.
    assert lateness_by_clock(late) == {
        ClockName.START: Lateness(2, 9.0, 13.0, 14),
        ClockName.FATE: Lateness(1, 9, 9, 9),
    }


def test_a_share_has_an_interval_and_says_when_it_is_small() -> None:
    share = Share(3, ENOUGH - 1)

    assert (share.part, share.interval) == (3 / (ENOUGH - 1), wilson(3, ENOUGH - 1))
    assert (share.is_small, Share(0, ENOUGH).is_small) == (True, False)
    assert (Share().part, Share().interval) == (None, None)


@pytest.mark.parametrize(
    ("first", "last", "before"),
    [
        ((2026, 3, 9), (2026, 3, 15), ((2026, 3, 2), (2026, 3, 8))),
        ((2026, 3, 1), (2026, 3, 31), ((2026, 2, 1), (2026, 2, 28))),
        ((2026, 1, 1), (2026, 3, 31), ((2025, 10, 1), (2025, 12, 31))),
        ((2026, 1, 1), (2026, 3, 30), ((2025, 10, 4), (2025, 12, 31))),
        ((2026, 2, 1), (2026, 2, 1), ((2026, 1, 31), (2026, 1, 31))),
    ],
)
def test_the_days_before_are_as_many_or_as_many_months(
    first: tuple[int, int, int],
    last: tuple[int, int, int],
    before: tuple[tuple[int, int, int], tuple[int, int, int]],
) -> None:
    days = Days(date(*first), date(*last))

    assert days.before == Days(date(*before[0]), date(*before[1]))
    assert [days.holds(day) for day in (days.first, days.last, days.before.last)] == [
        True,
        True,
        False,
    ]


def test_every_measure_has_an_own_figure() -> None:
    of = {
        ClockName.BASELINE_CHECK: Tally(8, 1, 1),
        ClockName.FIRST_CHECK: Tally(7, 2, 1),
        ClockName.END_CHECK: Tally(6, 3, 1),
        ClockName.START: Tally(5, 3, 2),
    }
    at_night = {ClockName.END_CHECK: Tally(3, 1, 0), ClockName.FINISH: Tally(2, 1, 1)}
    figures = Figures(of, at_night, Share(3, 30), Tally(4, 1, 3))
    nothing = Figures({}, {}, Share(), Tally())

    assert {measure: figures.own(measure) for measure in Measure} == {
        Measure.BASELINE_KEPT: Share(8, 10),
        Measure.FIRST_CHECK_KEPT: Share(7, 10),
        Measure.END_CHECK_KEPT: Share(6, 10),
        Measure.END_CHECK_KEPT_AT_NIGHT: Share(3, 4),
        Measure.START_LATE: Share(5, 10),
        Measure.FINISH_LATE_AT_NIGHT: Share(2, 4),
        Measure.STARTED_AT_NIGHT: Share(3, 30),
        Measure.REASSESSED: Share(4, 8),
    }
    assert {nothing.own(measure) for measure in Measure} == {Share()}
