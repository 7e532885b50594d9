"""Funnel plots: where wards stand, what their limits are, and who is only in the table."""

from server.domain.review.funnel import funnel_limits
from server.domain.review.rates import Tally
from server.pages.charts.funnel import Ward, funnel_view
from server.pages.charts.names import Name

WARDS = [
    Ward("Ward 1", Tally(170, 20, 10)),
    Ward("Ward 2", Tally(285, 15)),
    Ward("Ward 3", Tally(9, 1)),
    Ward("Ward 4", Tally(240, 40, 20)),
    Ward("Ward 5", Tally()),
]

SMALL = "within what chance allows; only 10 owed: too few to judge"


def plain(text: str) -> str:
    return text.replace("\u00a0", " ")


def test_wards_by_shape_and_words() -> None:
    view = funnel_view("k", "First check", WARDS, 0.9)

    assert [(dot.name.text, dot.shape) for dot in view.dots] == [
        ("Ward 1", "square"),
        ("Ward 2", "square"),
        ("Ward 3", "ring"),
        ("Ward 4", "diamond"),
    ]
    assert plain(view.dots[2].told) == "Ward 3: 90 % (9 of 10), within what chance allows"
    assert plain(view.description) == (
        "4 wards about 90 % (all wards). Ward 1 is below the 95 % limit, 170 of 200; Ward 2 is "
        "above the 95 % limit, 285 of 300; Ward 4 is below the 99.8 % limit, 240 of 300."
    )


def test_the_table_names_limits_and_who_owed_nothing_or_little() -> None:
    rows = funnel_view("k", "First check", WARDS, 0.9).table.rows

    assert [plain("|".join(row[1:])) for row in rows[2:]] == [
        f"9|10|90 %|62 % to 99 %|46 % to 99.9 %|{SMALL}",
        "240|300|80 %|86 % to 93 %|84 % to 95 %|below the 99.8 % limit",
        "0|0|–|–|–|none owed",
    ]


def test_curves_begin_where_a_ward_could_pass_them_and_stay_on_the_axis() -> None:
    view = funnel_view("k", "First check", WARDS, 0.9, "the target")
    numbers = [
        tuple(float(one) for one in point.split())
        for curve in view.curves
        for point in curve.path.replace("M", "L").split("L")[1:]
    ]

    assert [curve.kind for curve in view.curves] == ["outer", "inner", "inner", "outer"]
    assert all(view.frame.left <= x <= view.frame.right for x, _ in numbers)
    assert all(view.frame.top <= y <= view.frame.bottom for _, y in numbers)
    assert view.description.startswith("4 wards about 90\u00a0% (the target).")


def test_what_stands_at_the_right_is_told_apart() -> None:
    ends = funnel_view("k", "First check", WARDS, 0.9).ends

    assert plain(ends[0].text) == "90 %"
    assert all(abs(a.at - b.at) >= 13 for a in ends for b in ends if a is not b)


def test_more_than_a_few_wards_take_the_wider_drawing() -> None:
    many = [Ward(f"Ward {n}", Tally(90, 10)) for n in range(7)]

    assert funnel_view("k", "R", many[:6], 0.9).frame.size == "narrow"
    assert funnel_view("k", "R", many, 0.9).frame.size == "medium"


def test_one_ward_and_none() -> None:
    one, none = (funnel_view("k", "R", wards, 0.9) for wards in (WARDS[2:3], ()))

    assert plain(one.description) == (
        "1 ward about 90 % (all wards). All lie within what chance allows."
    )
    assert isinstance(one.dots[0].name, Name)
    assert (none.dots, none.table.rows) == ((), ())
    assert funnel_limits(10, 0.9).high_95 < 1
