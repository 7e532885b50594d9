"""Curves of how long something takes: steps, marks, letters, interval, and what they say."""

from server.domain.review.survival import Curve, Ended, kaplan_meier
from server.pages.charts.curve_words import Group
from server.pages.charts.curves import Mark, curves_view
from server.pages.charts.scale import Tick

TEN = kaplan_meier(Ended(3 * at, 1) for at in range(1, 11))
MANY = kaplan_meier(Ended(3 * at, 2) for at in range(1, 11))
SENT_BACK = kaplan_meier([Ended(10, 1, 1), Ended(20, 0, 2)])


def plain(text: str) -> str:
    return text.replace("\u00a0", " ")


def test_a_step_at_each_time_and_marks_at_median_and_nine_in_ten() -> None:
    view = curves_view("k", "From issue to start", [Group("All", TEN)], 20)
    line = view.lines[0]

    assert line.path.startswith("M44 230H71.2V210H98.4V190H")
    assert line.path.endswith("H316V30")
    assert line.marks == (
        Mark(180.0, 130.0, "median", "All: half within 15\u00a0min"),
        Mark(288.8, 50.0, "p90", "All: nine in ten within 27\u00a0min"),
    )
    assert view.limit == Tick(225.3, "limit 20\u00a0min")
    assert plain(view.description) == (
        "All, 10 counted: median 15 min, 60 % within 20 min, nine in ten within 27 min."
    )


def test_the_interval_is_drawn_around_one_curve_and_not_around_several() -> None:
    alone = curves_view("k", "Wait", [Group("All", SENT_BACK)])
    several = curves_view("k", "Wait", [Group("All", SENT_BACK), Group("Others", MANY)])

    assert alone.band == "M180 222.1V55.6H316V55.6H316V222.1H316V222.1H180z"
    assert several.band == ""
    assert [(line.letter, line.dash) for line in several.lines] == [("A", 0), ("B", 1)]
    assert curves_view("k", "Wait", [Group("One", kaplan_meier([Ended(5, 1)]))]).band == ""


def test_what_was_never_reached_says_so_and_so_does_what_was_cut_off() -> None:
    view = curves_view("k", "Wait", [Group("Platelets", SENT_BACK)])

    assert view.table.rows == (("Platelets", "4", "1", "3", "not reached", "not reached"),)
    assert view.lines[0].marks == ()
    assert view.note == (
        "Too few to judge: Platelets. Units that were sent back or still wait count until then "
        "(Kaplan-Meier): that they waited so long is known, how long they would have is not."
    )


def test_a_group_of_few_among_others_stands_in_the_table_only() -> None:
    groups = [Group("All", MANY), Group("Whole blood", SENT_BACK), Group("Red cells", MANY)]
    view = curves_view("k", "Wait", groups)

    assert [line.told.partition(",")[0] for line in view.lines] == ["All", "Red cells"]
    assert view.note == "Too few to draw, in the table only: Whole blood."
    assert [row[0] for row in view.table.rows] == ["All", "Whole blood", "Red cells"]


def test_a_group_of_none_stands_in_the_table_only() -> None:
    view = curves_view("k", "Wait", [Group("Plasma", Curve(()))])

    assert (view.lines, view.description, view.note) == ((), "There is nothing to draw.", "")
    assert view.table.rows == (("Plasma", "0", "0", "0", "–", "–"),)


def test_few_that_wait_very_long_do_not_stretch_the_axis() -> None:
    long = kaplan_meier([*(Ended(at, 4) for at in range(1, 31)), Ended(900, 1)])
    view = curves_view("k", "Wait", [Group("All", long)])

    assert view.frame.x_ticks[-1].text == "50"
    assert view.lines[0].path.endswith("H316V30")


def test_letters_stand_apart_where_curves_end_alike() -> None:
    view = curves_view("k", "Wait", [Group(name, MANY) for name in ("One", "Two", "Three")])

    assert [line.letter_y for line in view.lines] == [30, 45, 60]
