"""Control charts at their edges: nothing counted, one value, values that never change, phases."""

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.domain.review.control_chart import FEW, ControlChart, Point
from server.domain.review.p_chart import p_chart
from server.domain.review.xmr import D2, D4, XmR, xmr
from tests.near import near

EMPTY = ControlChart(())
SUBGROUPS = st.lists(
    st.integers(0, 300).flatmap(lambda size: st.tuples(st.integers(0, size), st.just(size))),
    max_size=30,
)


def test_nothing_at_all_is_an_empty_chart() -> None:
    assert (p_chart(()), xmr(())) == (EMPTY, XmR(EMPTY, EMPTY))


def test_a_subgroup_of_none_keeps_its_place_and_moves_no_limit() -> None:
    chart = p_chart([(8, 10), (0, 0), (6, 10)])

    assert chart.points[1] == Point(None, 0.7, None, None, None, 0)
    assert (chart.points[0], chart.points[2]) == p_chart([(8, 10), (6, 10)]).points


def test_only_empty_subgroups_have_no_centre() -> None:
    assert p_chart([(0, 0)] * 2).points == (Point(None, None, None, None, None, 0),) * 2


def test_all_or_none_counted_has_limits_without_width() -> None:
    assert p_chart([(5, 5), (9, 9)]).points == (Point(1.0, 1.0, 0.0, 1.0, 1.0, 0),) * 2
    assert p_chart([(0, 5), (0, 9)]).points == (Point(0.0, 0.0, 0.0, 0.0, 0.0, 0),) * 2


def test_limits_widen_in_small_subgroups_and_are_cut_to_what_can_be() -> None:
    large, small = p_chart([(90, 100), (9, 10)]).points

    assert (large.low, large.high) == pytest.approx((0.81, 0.99))
    assert small.low == pytest.approx(0.9 - 0.9 * 0.1**0.5)
    assert (small.high, small.sigma) == (1.0, near(0.3 * 0.1**0.5))


def test_a_change_begins_a_phase_with_limits_of_its_own() -> None:
    chart = p_chart([(5, 10), (5, 10), (9, 10), (9, 10)], starts=[2])

    assert [(one.centre, one.phase) for one in chart.points] == [(0.5, 0)] * 2 + [(0.9, 1)] * 2
    assert p_chart([(5, 10)], starts=[0]) == p_chart([(5, 10)])


@pytest.mark.parametrize("start", [-1, 2])
def test_a_phase_begins_at_a_place_of_the_chart(start: int) -> None:
    expected = f"phase starts at {start}; expected a place from 0 to 1"

    for charted in (lambda: p_chart([(1, 2)] * 2, [start]), lambda: xmr([1, 2], [start])):
        with pytest.raises(ValueError, match="expected a place") as refused:
            charted()
        assert str(refused.value) == expected


@pytest.mark.parametrize("subgroup", [(-1, 2), (3, 2)])
def test_more_counted_than_there_were_is_refused(subgroup: tuple[int, int]) -> None:
    with pytest.raises(ValueError, match=f"counted {subgroup[0]} of 2; expected 0 <= counted"):
        p_chart([(1, 2), subgroup])


@given(SUBGROUPS)
def test_a_p_chart_stays_within_bounds_and_its_centre_is_all_of_all(
    subgroups: list[tuple[int, int]],
) -> None:
    whole = sum(size for _, size in subgroups)

    for (count, size), point in zip(subgroups, p_chart(subgroups).points, strict=True):
        assert point.centre == (sum(one for one, _ in subgroups) / whole if whole else None)
        if size:
            assert point.value == count / size
            assert point.low is not None
            assert point.centre is not None
            assert point.high is not None
            assert 0 <= point.low <= point.centre <= point.high <= 1


def test_one_value_has_a_centre_and_no_limits() -> None:
    alone = xmr([4.0])

    assert alone.values.points == (Point(4.0, 4.0, None, None, None, 0),)
    assert alone.ranges.points == (Point(None, None, None, None, None, 0),)


def test_values_that_never_change_lie_on_their_centre() -> None:
    charts = xmr([0.1, 0.1, 0.1])

    assert charts.values.points == (Point(0.1, 0.1, 0.0, 0.1, 0.1, 0),) * 3
    assert charts.ranges.points[1:] == (Point(0.0, 0.0, 0.0, 0.0, 0.0, 0),) * 2


def test_the_moving_range_steps_over_a_gap_and_not_over_a_change() -> None:
    charts = xmr([1, None, 4, 10, 12], starts=[3])

    assert [one.value for one in charts.ranges.points] == [None, None, 3, None, 2]
    assert [one.centre for one in charts.values.points] == [2.5, 2.5, 2.5, 11, 11]
    assert charts.ranges.points[4].high == D4 * 2
    assert charts.ranges.points[4].sigma == pytest.approx((D4 - 1) * 2 / 3)


def test_a_floor_and_a_ceiling_cut_the_limits_only() -> None:
    free, cut = xmr([1, 9]).values.points[0], xmr([1, 9], floor=0, ceiling=20).values.points[0]

    assert (free.low, free.high) == (5 - 3 * 8 / D2, 5 + 3 * 8 / D2)
    assert (cut.low, cut.high, cut.sigma) == (0, 20, free.sigma)


@given(st.lists(st.floats(-1e6, 1e6), min_size=2, max_size=30))
def test_an_xmr_chart_is_the_mean_and_the_mean_moving_range(values: list[float]) -> None:
    charts = xmr(values)
    moved = [abs(after - before) for before, after in pairwise(values)]
    point = charts.values.points[0]

    assert [one.value for one in charts.ranges.points[1:]] == moved
    assert point.sigma == pytest.approx(sum(moved) / len(moved) / D2)
    assert point.centre == pytest.approx(sum(values) / len(values), abs=1e-6)


def test_limits_from_few_values_are_a_first_try() -> None:
    assert p_chart([(1, 2)] * (FEW - 1)).is_trial
    assert p_chart([(1, 2)] * (FEW - 1) + [(0, 0)]).is_trial
    assert not p_chart([(1, 2)] * FEW).is_trial
    assert p_chart([(1, 2)] * (2 * FEW), starts=[FEW + 1]).is_trial
    assert not EMPTY.is_trial
