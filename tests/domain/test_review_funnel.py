"""Funnel limits at their edges, and where a ward lies in them."""

from math import comb

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.domain.review.funnel import Limits, Standing, funnel_limits, standing
from tests.near import near

TARGETS = st.one_of(st.sampled_from([0.0, 1e-9, 0.5, 1 - 1e-9, 1.0]), st.floats(0, 1))


def test_one_owed_by_hand() -> None:
    """Of one, none is met with a chance of 0.1, one with 0.9."""
    assert funnel_limits(1, 0.9) == Limits(
        low_998=0.0,
        low_95=0.0,
        high_95=near(1 - (1 - 0.975) / 0.9),
        high_998=near(1 - (1 - 0.999) / 0.9),
    )


def test_a_target_that_leaves_nothing_to_chance() -> None:
    assert funnel_limits(10, 0.0) == Limits(0.0, 0.0, 0.0, 0.0)
    assert funnel_limits(10, 1.0) == Limits(
        *(near(1 - (1 - p) / 10) for p in (0.001, 0.025, 0.975, 0.999))
    )
    assert [standing(met, 10, 0.0) for met in (0, 1)] == [Standing.INSIDE, Standing.ABOVE_998]
    assert [standing(met, 10, 1.0) for met in (10, 9)] == [Standing.INSIDE, Standing.BELOW_998]


def test_all_met_is_no_surprise_where_few_were_owed() -> None:
    """At a target of 95 % ten of ten come out of chance six times in ten."""
    assert standing(10, 10, 0.95) is Standing.INSIDE


@given(st.integers(1, 60), TARGETS)
def test_a_ward_stands_where_the_exact_tails_say(owed: int, target: float) -> None:
    chances = [
        comb(owed, met) * target**met * (1 - target) ** (owed - met) for met in range(owed + 1)
    ]

    for met in range(owed + 1):
        or_more, or_fewer = sum(chances[met:]), sum(chances[: met + 1])
        near = [abs(tail - p) < 1e-9 for tail in (or_more, or_fewer) for p in (0.025, 0.001)]
        if not any(near):
            assert standing(met, owed, target) is _by_tails(or_more, or_fewer)


def _by_tails(or_more: float, or_fewer: float) -> Standing:
    if or_more < 0.025:
        return Standing.ABOVE_998 if or_more < 0.001 else Standing.ABOVE_95
    if or_fewer < 0.025:
        return Standing.BELOW_998 if or_fewer < 0.001 else Standing.BELOW_95
    return Standing.INSIDE


@given(st.integers(1, 3000), TARGETS)
def test_the_limits_lie_inside_each_other(owed: int, target: float) -> None:
    limits = funnel_limits(owed, target)

    assert 0 <= limits.low_998 <= limits.low_95 <= limits.high_95 <= limits.high_998 <= 1


@pytest.mark.parametrize(("owed", "target"), [(0, 0.5), (1, -0.1), (1, 1.1)])
def test_no_ward_of_none_and_no_target_that_is_no_fraction(owed: int, target: float) -> None:
    with pytest.raises(ValueError, match=f"{owed} owed, target {target}; expected 1 or more"):
        funnel_limits(owed, target)


@pytest.mark.parametrize("met", [-1, 4])
def test_more_met_than_owed_is_refused(met: int) -> None:
    with pytest.raises(ValueError, match=f"met {met} of owed 3; expected 0 <= met <= owed"):
        standing(met, 3, 0.5)
