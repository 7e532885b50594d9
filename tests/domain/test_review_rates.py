"""Rates, their intervals, what too few say, and quantiles."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.domain.review.proportion import Interval, wilson
from server.domain.review.quantiles import quantile
from server.domain.review.rates import ENOUGH, Tally, caution
from tests.near import near

MANY = st.integers(0, 10**6)


def test_the_ends_are_clean_and_nothing_owed_has_no_rate() -> None:
    assert wilson(0, 0) is None
    assert wilson(0, 20) == Interval(0.0, near(0.161125, 1e-6))
    assert wilson(20, 20) == Interval(near(0.838875, 1e-6), 1.0)
    assert wilson(1, 1) == Interval(near(0.206549, 1e-6), 1.0)


@pytest.mark.parametrize(("met", "owed"), [(-1, 3), (4, 3), (0, -1)])
def test_more_met_than_owed_is_refused(met: int, owed: int) -> None:
    with pytest.raises(ValueError, match="expected 0 <= met <= owed") as refused:
        wilson(met, owed)

    assert str(refused.value) == f"met {met} of owed {owed}; expected 0 <= met <= owed"


@given(MANY, MANY)
def test_an_interval_holds_its_rate_lies_within_bounds_and_turns_round(
    met: int, not_met: int
) -> None:
    owed = met + not_met
    found, turned = wilson(met, owed), wilson(not_met, owed)

    if found is None or turned is None:
        assert owed == 0
        return
    assert 0 <= found.low <= met / owed <= found.high <= 1
    assert (found.low, found.high) == pytest.approx((1 - turned.high, 1 - turned.low), abs=1e-12)


def test_a_tally_counts_what_was_owed() -> None:
    tally = Tally(met=18, late=1, missed=2) + Tally(met=9)

    assert tally == Tally(27, 1, 2)
    assert (tally.owed, tally.rate, tally.interval) == (30, 0.9, wilson(27, 30))
    assert (Tally().owed, Tally().rate, Tally().interval) == (0, None, None)


def test_too_few_say_so_and_enough_do_not() -> None:
    assert caution(Tally()) == "none owed"
    assert caution(Tally(met=ENOUGH - 2, missed=1)) == "only 19 owed: too few to judge"
    assert caution(Tally(met=ENOUGH)) == ""
    assert (Tally(met=ENOUGH - 1).is_small, Tally(met=ENOUGH).is_small) == (True, False)


def test_what_enough_is_called_enough_for() -> None:
    """The reason beside `ENOUGH`: of fewer, even all in time leave one in six open."""
    below = wilson(ENOUGH - 1, ENOUGH - 1)
    enough = wilson(ENOUGH, ENOUGH)

    assert below is not None
    assert enough is not None
    assert below.low < 5 / 6 < enough.low


def test_quantiles_of_few_values() -> None:
    assert quantile((), 0.5) is None
    assert [quantile((7,), part) for part in (0, 0.5, 1)] == [7, 7, 7]
    assert [quantile((3, 1, 2, 4), part) for part in (0, 0.5, 0.9, 1)] == [1, 2.5, 3.7, 4]
    assert quantile((5, 5, 5), 0.9) == 5
    with pytest.raises(ValueError, match=r"part 1.1; expected 0 to 1"):
        quantile((1,), 1.1)
