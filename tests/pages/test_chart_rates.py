"""Rates with intervals: places, published marks, and small numbers that say so."""

from server.domain.review.rates import Tally
from server.pages.charts.rates import Published, PublishedMark, Rate, RateRow, rates_view


def plain(text: str) -> str:
    return text.replace("\u00a0", " ")


RATES = [
    Rate("First check", Tally(90, 6, 4), (Published(0.851, 0.878, "85 to 88 %, 2025"),)),
    Rate("Set change", Tally(3, 1)),
    Rate("Reaction check", Tally()),
]


def test_each_rate_has_its_place_interval_and_words() -> None:
    first, small, none = rates_view("k", "Kept in time", RATES).rows

    assert first == RateRow(
        name="First check",
        words="90\u00a0%, 90 of 100",
        name_y=22,
        y=34,
        x=282.5,
        low=254.6,
        high=299.3,
        shape="dot",
        told=first.told,
        published=(PublishedMark(264.1, 10.1, "85 to 88 %, 2025"),),
    )
    assert plain(first.told) == ("First check: 90 % in time, 90 of 100, 95 % interval 83 % to 94 %")
    assert (small.shape, small.words) == ("ring", "only 4 owed: too few to judge")
    assert plain(small.told).endswith("interval 30 % to 95 %, only 4 owed: too few to judge")
    assert (none.x, none.words, none.told) == (None, "none owed", "Reaction check: none owed")


def test_the_axis_begins_where_the_lowest_figure_needs_it_to() -> None:
    high = rates_view("k", "Kept", [Rate("End", Tally(100))])
    low = rates_view("k", "Kept", RATES)

    assert plain(high.frame.x_ticks[0].text) == "80 %"
    assert plain(low.frame.x_ticks[0].text) == "20 %"
    assert [view.frame.x_ticks[-1].text for view in (high, low)] == ["100\u00a0%"] * 2
    assert (high.has_published, low.has_published) == (False, True)


def test_the_table_has_all_numbers() -> None:
    rows = rates_view("k", "Kept", RATES).table.rows

    assert [plain("|".join(row)) for row in rows] == [
        "First check|100|90|6|4|90 %|83 % to 94 %|85 to 88 %, 2025",
        "Set change|4|3|1|0|75 %|30 % to 95 %; too few to judge|–",
        "Reaction check|0|0|0|0|–|–|–",
    ]


def test_no_rate_at_all() -> None:
    view = rates_view("k", "Kept", [])

    assert (view.rows, view.description, view.table.rows) == ((), "There is no rate to draw.", ())
