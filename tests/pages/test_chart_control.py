"""Control charts: steps of the limits, shapes and letters of signals, flags, words and table."""

from server.domain.review.control_chart import ControlChart
from server.domain.review.p_chart import p_chart
from server.domain.review.signals import WORDS, Rule
from server.domain.review.xmr import xmr
from server.pages.charts.control import ControlView, Dot, control_view
from server.pages.charts.control_marks import Change, Flag, Marked, Place
from server.pages.charts.frame import text_width
from server.pages.charts.scale import Tick
from server.pages.charts.units import MINUTES, PERCENT

BELOW = f"{WORDS[Rule.ONE_SIDE]}, below the centre"


def places(*figures: str, small: tuple[int, ...] = ()) -> list[Place]:
    return [
        Place(f"{at + 1} Mar", f"{at + 1} March", text, is_small=at in small)
        for at, text in enumerate(figures)
    ]


def rates(*subgroups: tuple[int, int], starts: tuple[int, ...] = ()) -> ControlView:
    named = places(*(f"{met} of {owed}" for met, owed in subgroups))
    return control_view("k", "Rates", p_chart(subgroups, starts), named, unit=PERCENT)


def plain(text: str) -> str:
    return text.replace("\u00a0", " ")


def test_limits_are_steps_and_the_line_joins_values() -> None:
    view = rates((80, 100), (18, 20), (80, 100))

    assert (view.frame.size, view.frame.top, view.frame.bottom) == ("narrow", 18, 178)
    assert [plain(tick.text) for tick in view.frame.y_ticks] == [
        "50 %",
        "60 %",
        "70 %",
        "80 %",
        "90 %",
        "100 %",
    ]
    assert view.centre == "M44 79.1H125.3V79.1H206.7V79.1H288"
    assert view.limits == ("M44 116.8H125.3V163.5H206.7V116.8H288 M44 41.4H125.3V18H206.7V41.4H288")
    assert view.line == "M84.7 82L166 50L247.3 82"
    assert view.ends == (Tick(41.4, "93\u00a0%"), Tick(79.1, "81\u00a0%"), Tick(116.8, "69\u00a0%"))


def test_a_gap_interrupts_the_limits_and_a_change_everything() -> None:
    view = rates((8, 10), (0, 0), (9, 10), (5, 10), (5, 10), starts=(3,))

    assert [view.limits.count("M"), view.centre.count("M"), view.line.count("M")] == [6, 2, 2]
    assert len(view.dots) == 4
    assert view.table.rows[1] == ("2 March", "–", "0 of 0", "85\u00a0%", "–", "–", "–")


def test_a_value_beyond_a_limit_is_a_diamond_with_a_letter_and_words() -> None:
    view = rates(*[(86, 100), (90, 100)] * 2, (90, 100), (60, 100))

    assert view.dots[0].shape == "dot"
    assert view.dots[5] == Dot(
        x=view.dots[5].x,
        y=view.dots[5].y,
        shape="diamond",
        letters="A",
        letters_y=view.dots[5].y + 17,
        told="6 March: 60\u00a0% (60 of 100)",
    )
    assert view.signals == (Marked("A", (5,), (5,), "6 March: beyond a limit, below the centre"),)
    assert view.table.rows[5][-1] == "A"
    assert plain(view.description) == (
        "6 values from 1 March to 6 March. The last is 60 % (60 of 100); the centre is 84 %, the "
        "limits 73 % and 95 %. A: 6 March: beyond a limit, below the centre."
    )
    assert view.note == "Limits from fewer than 12 values are a first try and will move."


def test_values_beyond_the_same_limit_share_a_letter_and_a_run_has_it_at_its_last() -> None:
    values = [9, 11] * 6 + [30, 9, 11, 9, 11, 30] + [10.9] * 8
    view = control_view(
        "k", "Minutes", xmr(values).values, places(*[""] * len(values)), unit=MINUTES
    )

    assert view.signals == (
        Marked("A", tuple(range(12)), (11,), f"1 March to 12 March: {BELOW}"),
        Marked("B", (12, 17), (12, 17), "13 March, 18 March: beyond a limit, above the centre"),
        Marked("C", tuple(range(18, 26)), (25,), f"19 March to 26 March: {BELOW}"),
    )
    assert [dot.letters for dot in view.dots if dot.letters] == ["A", "B", "B", "C"]


def test_a_rising_run_is_told_as_rising() -> None:
    values = [1, 9, 1, 9, 1, 2, 3, 4, 5, 6]
    view = control_view("k", "Minutes", xmr(values).values, places(*[""] * 10), unit=MINUTES)

    assert [(one.words, one.lettered) for one in view.signals] == [
        (f"5 March to 10 March: {WORDS[Rule.TREND]}, rising", (9,))
    ]
    assert [dot.shape for dot in view.dots] == ["dot"] * 4 + ["square"] * 6
    assert view.dots[9].letters_y == view.dots[9].y - 8


def test_too_few_are_hollow_and_said() -> None:
    view = control_view(
        "k", "Rates", p_chart([(8, 10)] * 12), places(*["8 of 10"] * 12, small=(3,)), unit=PERCENT
    )

    assert [dot.shape for dot in view.dots].count("ring") == 1
    assert view.note == "Hollow: too few to judge by themselves."
    assert "No special cause." in view.description


def test_flags_of_changes_stand_in_rows_and_none_is_cut_at_the_edge() -> None:
    changes = (
        Change(1, "2 March", "Porters come at ten to every full hour, day and night"),
        Change(2, "3 March", "New form"),
        Change(12, "13 March", "Move to the new ward"),
    )
    view = control_view(
        "k", "Rates", p_chart([(8, 10)] * 13), places(*[""] * 13), changes, unit=PERCENT
    )

    assert view.flags == (
        Flag(62.8, 2, "Porters come at ten to every fu…", "start"),
        Flag(81.5, 1, "New form", "start"),
        Flag(269.2, 0, "Move to the new ward", "end"),
    )
    assert view.frame.top == 18 + 3 * 15


def test_a_flag_in_the_middle_of_a_narrow_chart_is_as_long_as_there_is_room() -> None:
    change = Change(6, "7 March", "new porter round, bags counted at handover")
    view = control_view(
        "k", "Rates", p_chart([(8, 10)] * 13), places(*[""] * 13), (change,), unit=PERCENT
    )
    (flag,) = view.flags

    assert (flag.text, flag.anchor) == ("new porter round, bag…", "end")
    assert flag.x - text_width(flag.text) > 0


def test_one_value_and_none() -> None:
    alone = control_view("k", "Minutes", xmr([24.0]).values, places("7 units"), unit=MINUTES)
    none = control_view("k", "Minutes", ControlChart(()), (), unit=MINUTES)

    assert plain(alone.description) == (
        "1 value from 1 March to 1 March. The last is 24 min (7 units); there are too few values "
        "for limits. No special cause."
    )
    assert (alone.limits, alone.ends, len(alone.dots)) == ("", (), 1)
    assert (none.description, none.dots, none.table.rows) == ("There is no value to draw.", (), ())


def test_only_the_rules_asked_for_are_looked_for() -> None:
    ranges = xmr([1, 9, 1, 9, 1, 2, 3, 4, 5, 6]).ranges
    view = control_view(
        "k", "Ranges", ranges, places(*[""] * 10), unit=MINUTES, rules=(Rule.BEYOND_LIMITS,)
    )

    assert view.signals == ()


def test_more_places_make_a_wider_drawing() -> None:
    sizes = [
        control_view("k", "R", p_chart([(1, 2)] * many), places(*[""] * many), unit=PERCENT).frame
        for many in (13, 14, 27, 54)
    ]

    assert [(frame.size, frame.width) for frame in sizes] == [
        ("narrow", 340),
        ("medium", 520),
        ("wide", 720),
        ("widest", 1040),
    ]
