"""Kaplan-Meier at its edges: nothing, one, nobody left, ties, and times given in groups."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.domain.review.proportion import Interval
from server.domain.review.quantiles import quantile
from server.domain.review.survival import Curve, Ended, Step, kaplan_meier
from tests.near import near

TIMES = st.lists(st.builds(Ended, st.integers(0, 50), st.integers(0, 3), st.integers(0, 3)))


def test_nothing_is_known_from_nothing() -> None:
    for none in ((), (Ended(5, 0),)):
        curve = kaplan_meier(none)
        assert curve == Curve(())
        assert (curve.total, curve.events, curve.median, curve.p90) == (0, 0, None, None)
        assert curve.survival_at(100) == 1.0


def test_one_for_which_it_happened_leaves_nobody() -> None:
    curve = kaplan_meier([Ended(12, 1)])

    assert curve.steps == (Step(12, 1, 1, 0, 0.0, None, None),)
    assert (curve.median, curve.p90) == (12, 12)


def test_one_that_was_sent_back_tells_nothing_but_that_it_had_not_happened() -> None:
    curve = kaplan_meier([Ended(12, 0, 1)])

    assert curve.steps == (Step(12, 1, 0, 1, 1.0, 0.0, None),)
    assert (curve.median, curve.p90) == (None, None)


def test_what_happens_at_a_time_comes_before_what_is_censored_at_it() -> None:
    together = kaplan_meier([Ended(10, 0, 1), Ended(20, 0, 1), Ended(10, 1)])

    assert [(one.minutes, one.at_risk, one.survival) for one in together.steps] == [
        (10, 3, near(2 / 3)),
        (20, 1, near(2 / 3)),
    ]


def test_a_part_that_is_just_reached_is_reached() -> None:
    """Five of ten by 25 minutes: exactly half, however the product of fractions is rounded."""
    ten = [Ended(5 * at, 1) for at in range(1, 11)]

    curve = kaplan_meier(ten)
    assert (curve.median, curve.p90, curve.time_to(1), curve.time_to(0)) == (25, 45, 50, 5)


def test_the_estimate_holds_from_its_time_on() -> None:
    curve = kaplan_meier([Ended(10, 1), Ended(20, 1), Ended(30, 0, 2)])

    assert [curve.survival_at(at) for at in (9.99, 10, 19.99, 20, 99)] == [1, 0.75, 0.75, 0.5, 0.5]
    assert (curve.total, curve.events, curve.median, curve.p90) == (4, 2, 20, None)


def test_greenwood_by_hand() -> None:
    """One of two at 10 minutes: the variance is 1/2 squared times 1 / (2 times 1)."""
    step = kaplan_meier([Ended(10, 1), Ended(20, 0, 1)]).steps[0]

    assert step.error == pytest.approx(0.125**0.5)
    assert step.interval == Interval(near(0.00598, 1e-5), near(0.91041, 1e-5))


@pytest.mark.parametrize("wrong", [Ended(-1, 1), Ended(1, -1), Ended(1, 0, -1)])
def test_what_is_below_0_is_refused(wrong: Ended) -> None:
    with pytest.raises(ValueError, match="expected minutes and counts of 0 or more"):
        kaplan_meier([wrong])


@given(TIMES)
def test_groups_are_as_one_by_one(times: list[Ended]) -> None:
    single = [Ended(one.minutes, 1) for one in times for _ in range(one.events)]
    single += [Ended(one.minutes, 0, 1) for one in times for _ in range(one.censored)]

    assert kaplan_meier(times) == kaplan_meier(reversed(single))


@given(TIMES)
def test_the_curve_only_falls_and_intervals_hold_it(times: list[Ended]) -> None:
    curve = kaplan_meier(times)
    heights = [1.0, *(one.survival for one in curve.steps)]

    assert heights == sorted(heights, reverse=True)
    assert all(
        one.interval.low <= one.survival <= one.interval.high
        for one in curve.steps
        if one.interval is not None
    )


@given(st.lists(st.integers(0, 500), min_size=1, max_size=60))
def test_without_censoring_it_is_the_share_of_those_that_take_longer(minutes: list[int]) -> None:
    curve = kaplan_meier(Ended(at, 1) for at in minutes)
    longest = quantile(minutes, 1)

    assert longest is not None
    assert curve.survival_at(longest) == 0
    for one in curve.steps:
        longer = sum(at > one.minutes for at in minutes) / len(minutes)
        assert one.survival == pytest.approx(longer, abs=1e-12)
