"""The hours of the day: medians, how far nine in ten reach, night, and hours of few or none."""

from server.domain.review.survival import Curve, Ended, kaplan_meier
from server.pages.charts.hours import HourColumn, Night, hours_view
from server.pages.charts.scale import Tick

NONE = Curve(())
QUICK = kaplan_meier([Ended(10, 20), Ended(20, 4)])
SLOW = kaplan_meier([Ended(20, 10), Ended(40, 10)])
FEW = kaplan_meier([Ended(30, 2), Ended(35, 0, 1)])
DAY = [NONE] * 6 + [QUICK, SLOW, FEW, *[NONE] * 15]


def plain(text: str) -> str:
    return text.replace("\u00a0", " ")


def test_an_hour_has_its_median_and_reaches_to_nine_in_ten() -> None:
    quick, slow, few = hours_view("k", "Hours", DAY, limit_minutes=30).columns

    assert quick == HourColumn(124.8, 138.0, 98.0, "dot", quick.told)
    assert plain(quick.told) == (
        "06:00 to 06:59, 24 units: median 10 min, nine in ten within 20 min"
    )
    assert (slow.y, slow.p90_y) == (98.0, 18.0)
    assert (few.y, few.p90_y, few.shape) == (58.0, None, "ring")


def test_the_night_is_one_stretch_on_each_side_of_midnight() -> None:
    view = hours_view("k", "Hours", DAY, {22, 23, 0, 1}, 30)

    assert view.nights == (Night(50.0, 23.0), Night(303.0, 23.0))
    assert view.limit == Tick(58.0, "limit 30\u00a0min")
    assert [tick.text for tick in view.frame.x_ticks] == [
        "00", "03", "06", "09", "12", "15", "18", "21",
    ]  # fmt: skip


def test_the_longest_and_the_shortest_hour_are_told_of_those_that_can_be_judged() -> None:
    view = hours_view("k", "Hours", DAY)

    assert plain(view.description) == (
        "Longest by the median: 07:00 to 07:59, 20 units: median 20 min, nine in ten within 40 "
        "min. Shortest: 06:00 to 06:59, 24 units: median 10 min, nine in ten within 20 min."
    )
    assert view.has_small
    assert hours_view("k", "Hours", [FEW]).description == ("No hour has enough units to be judged.")


def test_every_hour_stands_in_the_table() -> None:
    rows = hours_view("k", "Hours", DAY).table.rows

    assert len(rows) == 24
    assert [plain("|".join(row)) for row in rows[5:9]] == [
        "05:00 to 05:59|0|–|–",
        "06:00 to 06:59|24|10 min|20 min",
        "07:00 to 07:59|20|20 min|40 min",
        "08:00 to 08:59|3|30 min|not reached",
    ]
