"""Axes, round values, how values are written, and texts that stand apart."""

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.pages.charts.frame import letter_of, thinned
from server.pages.charts.names import Name, named, shortened
from server.pages.charts.scale import Scale, Tick, around, round_values
from server.pages.charts.units import MINUTES, PERCENT, minutes, percent

VALUES = st.floats(0, 5000)


def test_what_is_beyond_an_axis_lies_on_its_end() -> None:
    down = Scale(0, 10, 100, 0)

    assert [down.at(value) for value in (-5, 0, 2.5, 10, 99)] == [100, 100, 75, 0, 0]


@pytest.mark.parametrize(
    ("low", "high", "found"),
    [
        (0, 1, (0, 0.2, 0.4, 0.6, 0.8, 1)),
        (0.83, 0.97, (0.8, 0.85, 0.9, 0.95, 1)),
        (0, 47, (0, 10, 20, 30, 40, 50)),
        (3, 4.1, (3, 3.5, 4, 4.5)),
    ],
)
def test_round_values_hold_what_is_drawn(low: float, high: float, found: tuple[float, ...]) -> None:
    assert round_values(low, high) == found


@given(st.lists(VALUES, min_size=1, max_size=8), st.floats(0.1, 50))
def test_an_axis_holds_all_values_and_its_least_span(values: list[float], least: float) -> None:
    ticks = around(values, least, MINUTES.within)
    steps = {round(after - before, 6) for before, after in pairwise(ticks)}

    assert ticks[0] - 1e-6 <= min(values) <= max(values) <= ticks[-1] + 1e-6
    assert ticks[-1] - ticks[0] >= least - 1e-6
    assert 2 <= len(ticks) <= 8
    assert len(steps) == 1 or max(steps) - min(steps) < 1e-5


@given(st.lists(st.floats(0, 1), max_size=8))
def test_an_axis_of_fractions_stays_within_0_and_1(values: list[float]) -> None:
    ticks = around(values, PERCENT.least, PERCENT.within)

    assert 0 <= ticks[0] < ticks[-1] <= 1
    assert ticks[-1] - ticks[0] >= PERCENT.least - 1e-9
    for value in values:
        assert ticks[0] - 1e-9 <= value <= ticks[-1] + 1e-9


def test_nothing_that_is_not_all_is_written_as_all() -> None:
    fractions = (0, 0.00001, 0.004, 0.5, 0.914, 0.996, 0.99999, 1)

    assert [percent(one).replace("\u00a0", " ") for one in fractions] == [
        "0 %", "0.1 %", "0.4 %", "50 %", "91 %", "99.6 %", "99.9 %", "100 %",
    ]  # fmt: skip
    assert [minutes(one).replace("\u00a0", " ") for one in (0, 7.44, 9.96, 24.5, 300)] == [
        "0 min", "7.4 min", "10 min", "24 min", "300 min",
    ]  # fmt: skip


def test_ticks_are_left_out_until_they_stand_apart_and_the_newest_stays() -> None:
    weeks = [Tick(10.0 * place, f"{place} Mar") for place in range(9)]

    assert [tick.text for tick in thinned(weeks)] == ["0 Mar", "4 Mar", "8 Mar"]
    assert thinned(weeks[:1]) == (weeks[0],)
    assert thinned([]) == ()


def test_letters_go_on_after_z() -> None:
    assert [letter_of(place) for place in (0, 25, 26, 51)] == ["A", "Z", "AA", "ZZ"]


def test_names_stand_clear_of_each_other_and_lead_to_their_dots_from_afar() -> None:
    found = named(["Ward 1", "Ward 2", "Ward 3"], [(100, 50)] * 3, (0, 300), (0, 100))

    assert found == (
        Name("Ward 1", 108, 54, "start"),
        Name("Ward 2", 92, 54, "end"),
        Name("Ward 3", 100, 41, "middle"),
    )
    crowd = named([f"Ward {n}" for n in range(9)], [(100, 50)] * 9, (0, 300), (0, 100))
    assert [name.leads for name in crowd[4:6]] == [-22, 21]


def test_a_name_without_any_room_stands_at_the_right_all_the_same() -> None:
    assert named(["Ward 1"], [(5, 5)], (0, 20), (0, 10)) == (Name("Ward 1", 13, 9, "start"),)


def test_long_names_are_shortened_where_that_keeps_them_apart() -> None:
    assert shortened(["Mill Ward, surgery", "Harbour Ward for the very old", "ICU"]) == (
        "Mill Ward",
        "Harbour Ward for…",
        "ICU",
    )
    assert shortened(["Mill, east", "Mill, west"]) == ("Mill, east", "Mill, west")
