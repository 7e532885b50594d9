"""The line of one unit: where it begins and ends, its marks, and what it says in words."""

import pytest

from server.domain.payloads import Completed, Issued, Paused, Returned, Stopped
from server.domain.picture import Case, picture
from server.pages.line_marks import Mark, bar_marks, check_marks
from server.pages.line_view import LineView, line_view
from server.pages.line_words import line_words
from server.pages.time_window import Window
from tests.domain.builders import FULL, PARTIAL, at, case
from tests.pages.units import running

WINDOW = Window(at(-60), at(340))  # four minutes are one per cent


def line(unit: Case, minute: int, window: Window = WINDOW) -> LineView:
    """The line of a unit, seen at a minute."""
    return line_view(picture(unit, at(minute)), window)


def checks(unit: Case, minute: int) -> list[Mark]:
    """The marks of the checks, seen at a minute."""
    return list(check_marks(picture(unit, at(minute)), WINDOW))


def test_unit_that_has_not_left_storage_has_no_line() -> None:
    assert line(case(), 0) == LineView("Line of time: nothing has left storage yet.")


def test_line_runs_from_removal_to_the_finish_limit() -> None:
    shown = line(case((0, Issued(removed_at=at(-20)))), 5)

    assert (shown.span, shown.cut_left, shown.cut_right) == ((10.0, 70.0), False, False)
    assert (shown.limit_x, shown.limit_text, shown.anchor) == (70.0, "13:40", "middle")


def test_line_that_would_run_past_its_limit_reaches_the_projected_end() -> None:
    shown = line(running(rate=60), 60)

    assert (shown.span, shown.limit_x) == ((15.0, 87.5), 75.0)


def test_line_of_a_returned_unit_ends_with_its_return() -> None:
    shown = line(case((0, Issued()), (20, Returned())), 60)

    assert (shown.span, shown.limit_x, shown.limit_text) == ((15.0, 20.0), None, "")


@pytest.mark.parametrize(
    ("window", "span", "cut_left", "cut_right", "limit_x"),
    [
        (Window(at(40), at(440)), (0.0, 50.0), True, False, 50.0),
        (Window(at(-200), at(200)), (50.0, 100.0), False, True, None),
        (Window(at(300), at(700)), None, True, False, None),
    ],
)
def test_line_is_cut_at_the_edges_of_the_window(
    window: Window,
    span: tuple[float, float] | None,
    cut_left: bool,  # noqa: FBT001 - a row of the table above
    cut_right: bool,  # noqa: FBT001
    limit_x: float | None,
) -> None:
    shown = line(running(rate=140), 60, window)

    assert shown.span == span
    assert (shown.cut_left, shown.cut_right, shown.limit_x) == (cut_left, cut_right, limit_x)


def test_label_of_a_limit_at_the_edge_stands_before_it() -> None:
    assert line(running(), 60, Window(at(-150), at(250))).anchor == "end"


def test_check_in_time_late_and_owed_have_their_own_shapes() -> None:
    unit = running((25, FULL), (110, FULL), rate=60)

    assert checks(unit, 120) == [
        Mark("met", 16.25),
        Mark("met", 21.25),
        Mark("late", 42.5),
        Mark("owed", 57.5),
    ]


def test_check_past_its_limit_is_marked_where_it_was_due() -> None:
    assert checks(running(), 31)[1] == Mark("overdue", 21.25)


def test_check_that_was_missed_is_marked_at_its_limit() -> None:
    assert checks(running((31, Completed())), 40)[1] == Mark("missed", 22.5)


def test_partial_set_leaves_the_check_owed() -> None:
    assert checks(running((25, PARTIAL)), 26)[1] == Mark("owed", 21.25)


def test_marks_on_the_bar() -> None:
    issued = case((0, Issued()))
    stopped = running((50, Stopped("cannula")))

    def on_bar(unit: Case, minute: int) -> list[Mark]:
        return list(bar_marks(picture(unit, at(minute)), WINDOW))

    assert on_bar(issued, 5) == [Mark("start", 22.5)]
    assert on_bar(running((50, Paused())), 60) == [Mark("paused", 27.5)]
    assert on_bar(stopped, 60) == [Mark("stop", 27.5)]
    assert on_bar(running((50, Completed())), 60) == [Mark("end", 27.5)]
    assert on_bar(running(), 60) == []
    assert list(bar_marks(picture(stopped, at(60)), Window(at(100), at(200)))) == []


def test_line_in_words() -> None:
    unit = running((25, FULL), rate=140, duration_minutes=120)

    assert line_words(picture(unit, at(50))) == (
        "Line of time: left storage 10:00; started 10:10; projected end 12:10; "
        "finish limit 14:00; baseline observations done 10:05; first check done 10:25; "
        "running check owed 11:25."
    )


def test_line_in_words_after_a_stop() -> None:
    assert "stopped 10:50" in line_words(picture(running((50, Stopped("cannula"))), at(60)))
