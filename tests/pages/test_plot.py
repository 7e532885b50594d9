"""Where values, labels and marks of a trend are drawn."""

from server.pages.observations.plot import BOTTOM, TOP, Reading, Span, plot, staggered
from tests.domain.builders import at

HOUR = Span(at(0), at(60))


def readings(*values: float, every: int = 10) -> list[Reading]:
    return [
        Reading(at(place * every), value, None, f"{value:g}") for place, value in enumerate(values)
    ]


def test_the_scale_spans_at_least_so_much_and_ends_in_whole_units() -> None:
    drawn = plot(readings(36.6, 36.8), HOUR, 2, ceiling=115)

    assert (drawn.bottom_text, drawn.top_text) == ("35", "38")
    assert all(TOP < dot.y < BOTTOM for dot in drawn.dots)


def test_the_scale_ends_where_the_sign_does() -> None:
    drawn = plot(readings(99, 100), HOUR, 10, ceiling=100)

    assert (drawn.bottom_text, drawn.top_text, drawn.dots[1].y) == ("90", "100", TOP)


def test_values_lie_across_by_their_time() -> None:
    drawn = plot(readings(70, 80, 90, every=30), HOUR, 40, ceiling=400)

    assert [dot.x for dot in drawn.dots] == [34, 167, 300]
    assert [dot.anchor for dot in drawn.dots] == ["start", "middle", "end"]
    assert drawn.line.startswith("34,")


def test_one_value_is_drawn_alone() -> None:
    drawn = plot(readings(70), Span(at(0), at(0)), 40, ceiling=400)

    assert (len(drawn.dots), drawn.dots[0].x, drawn.dots[0].text) == (1, 34, "70")


def test_of_many_values_the_first_last_highest_and_lowest_are_written() -> None:
    drawn = plot(readings(70, 75, 95, 80, 60, 72, 74), HOUR, 40, ceiling=400)

    assert [dot.text for dot in drawn.dots] == ["70", "", "95", "", "60", "", "74"]


def test_labels_that_would_meet_give_way_to_the_later_one() -> None:
    near = [Reading(at(minute), 124, 76, "124/76") for minute in (0, 5, 60)]

    assert [dot.text for dot in plot(near, HOUR, 60, ceiling=400).dots] == ["", "124/76", "124/76"]


def test_a_pressure_has_two_places() -> None:
    (dot,) = plot([Reading(at(0), 124, 76, "124/76")], HOUR, 60, ceiling=400).dots

    assert dot.low_y is not None
    assert dot.y < dot.low_y


def test_marks_that_are_near_each_other_stand_in_two_rows() -> None:
    assert staggered([34, 40, 60, 61, 62], 13, 2) == [0, 1, 0, 1, 0]
    assert staggered([], 13, 2) == []
