"""Each rule of special causes: what just fulfils it, what just does not, ties, gaps and phases."""

from collections.abc import Callable, Sequence
from itertools import pairwise
from typing import Final

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.domain.review.control_chart import ControlChart, Point
from server.domain.review.p_chart import p_chart
from server.domain.review.signals import WORDS, Rule, Signal, find_signals
from server.domain.review.xmr import xmr

UP, DOWN = True, False


def chart(values: Sequence[float | None], phases: Sequence[int] = ()) -> ControlChart:
    """Values in standard errors from a centre of 0."""
    placed = zip(values, phases or [0] * len(values), strict=True)
    return ControlChart(tuple(Point(value, 0.0, 1.0, -3.0, 3.0, phase) for value, phase in placed))


def by(rule: Rule, *values: float | None) -> list[tuple[tuple[int, ...], bool]]:
    return [(one.places, one.is_up) for one in find_signals(chart(values), (rule,))]


def test_a_value_on_its_limit_is_not_beyond_it() -> None:
    assert by(Rule.BEYOND_LIMITS, 3, -3, 0) == []
    assert by(Rule.BEYOND_LIMITS, 0, 3.01, -3.01, 4) == [((1,), UP), ((2,), DOWN), ((3,), UP)]


def test_two_of_three_lie_on_the_same_side() -> None:
    assert by(Rule.TWO_OF_THREE, 2.1, 0, 2.1) == [((0, 2), UP)]
    assert by(Rule.TWO_OF_THREE, -2.1, -2.1, 0) == [((0, 1), DOWN)]
    assert by(Rule.TWO_OF_THREE, 2.1, 0, 0, 2.1) == []
    assert by(Rule.TWO_OF_THREE, 2.1, -2.1, 0) == []
    assert by(Rule.TWO_OF_THREE, 2, 2, 2) == []
    assert by(Rule.TWO_OF_THREE, 2.1, 2.1) == []


def test_windows_that_share_a_value_are_one_signal() -> None:
    assert by(Rule.TWO_OF_THREE, 2.1, 0, 2.1, 0, 2.1, 0, 0, 2.1, 2.1) == [
        ((0, 2, 4), UP),
        ((7, 8), UP),
    ]


def test_four_of_five_lie_on_the_same_side() -> None:
    assert by(Rule.FOUR_OF_FIVE, 1.1, 1.1, 0, 1.1, 1.1) == [((0, 1, 3, 4), UP)]
    assert by(Rule.FOUR_OF_FIVE, -1.1, -1.1, -1.1, 0, -1.1, -1.1) == [((0, 1, 2, 4, 5), DOWN)]
    assert by(Rule.FOUR_OF_FIVE, 1.1, 1.1, 0, 0, 1.1, 1.1) == []
    assert by(Rule.FOUR_OF_FIVE, 1, 1, 1, 1, 1) == []


def test_eight_on_one_side_and_a_value_on_the_centre_ends_the_run() -> None:
    high, low = [0.1] * 8, [-0.1] * 8

    assert by(Rule.ONE_SIDE, *high) == [((0, 1, 2, 3, 4, 5, 6, 7), UP)]
    assert by(Rule.ONE_SIDE, *low, *high[:7]) == [((0, 1, 2, 3, 4, 5, 6, 7), DOWN)]
    assert by(Rule.ONE_SIDE, *high[:7]) == []
    assert by(Rule.ONE_SIDE, *high[:4], 0, *high[:4]) == []
    assert by(Rule.ONE_SIDE, *[0] * 20) == []


def test_six_that_rise_or_fall_and_equal_neighbours_end_the_run() -> None:
    assert by(Rule.TREND, -0.2, -0.1, 0, 0.1, 0.2, 0.3) == [((0, 1, 2, 3, 4, 5), UP)]
    assert by(Rule.TREND, 0.9, 1, 0.3, 0.2, 0.1, 0, -0.1) == [((1, 2, 3, 4, 5, 6), DOWN)]
    assert by(Rule.TREND, 0, 0.1, 0.2, 0.3, 0.4) == []
    assert by(Rule.TREND, 0, 0.1, 0.2, 0.2, 0.3, 0.4, 0.5) == []


def test_a_place_without_a_value_is_passed_over() -> None:
    high: list[float | None] = [0.1] * 4

    assert by(Rule.ONE_SIDE, *high, None, *high) == [((0, 1, 2, 3, 5, 6, 7, 8), UP)]


def test_no_run_reaches_into_the_next_phase() -> None:
    split = chart([0.1] * 10, [0] * 5 + [1] * 5)

    assert find_signals(split) == ()


def test_what_has_no_limits_or_never_changes_has_no_signal() -> None:
    assert find_signals(ControlChart(())) == ()
    assert find_signals(xmr([5.0]).values) == ()
    assert find_signals(xmr([0.1] * 30).values) == ()
    assert find_signals(p_chart([(7, 7), (12, 12)] * 10)) == ()
    assert find_signals(p_chart([(0, 0)] * 10)) == ()


def test_limits_that_vary_are_each_value_s_own() -> None:
    """The same rate: a signal where much was counted, none where little was."""
    subgroups = [(180, 200)] * 6 + [(160, 200), (8, 10)]

    assert find_signals(p_chart(subgroups)) == (Signal(Rule.BEYOND_LIMITS, (6,), is_up=False),)


def test_signals_come_by_their_first_place_and_then_by_rule() -> None:
    assert find_signals(chart([3.5, 3.5, 0])) == (
        Signal(Rule.BEYOND_LIMITS, (0,), is_up=True),
        Signal(Rule.TWO_OF_THREE, (0, 1), is_up=True),
        Signal(Rule.BEYOND_LIMITS, (1,), is_up=True),
    )


def test_every_rule_has_its_words() -> None:
    assert set(WORDS) == set(Rule)


@given(st.lists(st.sampled_from([-3.5, -2.5, -1.5, -0.5, 0, 0.5, 1.5, 2.5, 3.5]), max_size=25))
def test_upside_down_the_same_signals_turn_round(values: list[float]) -> None:
    found = find_signals(chart(values))
    turned = find_signals(chart([-value for value in values]))

    assert {(one.rule, one.places, one.is_up) for one in found} == {
        (one.rule, one.places, not one.is_up) for one in turned
    }


@pytest.mark.parametrize("rule", list(Rule))
@given(st.lists(st.floats(-4, 4), max_size=25))
def test_a_signal_names_places_in_order_each_once(rule: Rule, values: list[float]) -> None:
    for one in find_signals(chart(values), (rule,)):
        assert list(one.places) == sorted(set(one.places))
        assert one.rule is rule


WINDOWS: Final[dict[Rule, tuple[int, Callable[[Sequence[float]], set[int]]]]] = {
    Rule.BEYOND_LIMITS: (1, lambda seen: _several(seen, 1, 3)),
    Rule.TWO_OF_THREE: (3, lambda seen: _several(seen, 2, 2)),
    Rule.FOUR_OF_FIVE: (5, lambda seen: _several(seen, 4, 1)),
    Rule.ONE_SIDE: (8, lambda seen: _several(seen, 8, 0)),
    Rule.TREND: (6, lambda seen: _all(seen, rises=all(a < b for a, b in pairwise(seen)))),
}
"""Each rule as it is worded: so many in a row, and which of them it points to."""


def _several(seen: Sequence[float], count: int, sigmas: int) -> set[int]:
    far = {at for at, value in enumerate(seen) if value > sigmas}
    return far if len(far) >= count else set()


def _all(seen: Sequence[float], *, rises: bool) -> set[int]:
    return set(range(len(seen))) if rises else set()


@pytest.mark.parametrize("rule", list(Rule))
@given(st.lists(st.sampled_from([-3.5, -2.5, -1.5, -0.5, 0, 0.2, 0.5, 1.5, 2.5, 3.5]), max_size=40))
def test_every_window_is_found_and_nothing_else(rule: Rule, values: list[float]) -> None:
    length, look = WINDOWS[rule]
    wanted = {
        (first + at, is_up)
        for is_up in (UP, DOWN)
        for first in range(len(values) - length + 1)
        for at in look([one if is_up else -one for one in values[first : first + length]])
    }
    found = find_signals(chart(values), (rule,))

    assert {(place, one.is_up) for one in found for place in one.places} == wanted
