"""The drawings themselves: well formed, named and described, their ids once, nothing cut off."""

import re
from collections import Counter
from collections.abc import Iterator
from typing import Any, Final
from xml.etree import ElementTree as ET

import pytest

from server.domain.review.p_chart import p_chart
from server.domain.review.rates import Tally
from server.domain.review.survival import Curve, Ended, kaplan_meier
from server.pages.charts.control import control_view
from server.pages.charts.control_marks import Change, Place
from server.pages.charts.curve_words import Group
from server.pages.charts.curves import curves_view
from server.pages.charts.frame import WIDTH, text_width
from server.pages.charts.funnel import Ward, funnel_view
from server.pages.charts.hours import hours_view
from server.pages.charts.rates import Published, Rate, rates_view
from server.pages.charts.units import PERCENT
from server.pages.rendering import environment
from server.web_files import static_folder

CHANGES: Final = (
    Change(1, "2 March", "Porters <round> & more"),
    Change(25, "26 March", "Move to the new ward"),
)
PLACES: Final = [Place(f"{n} Mar", f"{n} March", "7 of 9", is_small=n == 3) for n in range(1, 27)]
COUNTED: Final = [(8, 9)] * 12 + [(0, 0), (0, 9)] + [(8, 9)] * 12
WAITS: Final = kaplan_meier([Ended(at, 2, at % 2) for at in range(1, 60)])
FEW: Final = kaplan_meier([Ended(9, 2), Ended(20, 0, 1)])
VIEWS: Final[dict[str, Any]] = {
    "control_chart": control_view(
        "c", "First check", p_chart(COUNTED, [20]), PLACES, CHANGES, unit=PERCENT
    ),
    "funnel_plot": funnel_view(
        "f", "Wards", [Ward(f"Ward {n}", Tally(20 * n - n, n)) for n in range(1, 13)], 0.95
    ),
    "curves_chart": curves_view("w", "Waits", [Group("All", WAITS), Group("More", WAITS)], 30),
    "hours_chart": hours_view("h", "Hours", [WAITS] * 20 + [FEW] * 4, range(7), 30),
    "rates_chart": rates_view(
        "r",
        "Rates",
        [Rate("Start", Tally(9, 1), (Published(0.5, 0.6, "50 %"),)), Rate("End", Tally())],
    ),
}
EMPTY: Final[dict[str, Any]] = {
    "control_chart": control_view("c", "First check", p_chart([]), [], unit=PERCENT),
    "funnel_plot": funnel_view("f", "Wards", [], 0.95),
    "curves_chart": curves_view("w", "Waits", [Group("All", Curve(()))]),
    "hours_chart": hours_view("h", "Hours", [Curve(())] * 24),
    "rates_chart": rates_view("r", "Rates", []),
}
FILES: Final = {name: f"charts/{name.split('_')[0]}.html" for name in VIEWS}


def drawn(name: str, view: object) -> ET.Element:
    """The figure of a chart, read as XML: strict about every quote and every end."""
    macro = getattr(environment().get_template(FILES[name]).module, name)
    text = str(macro(view, CHANGES) if name == "control_chart" else macro(view))
    return ET.fromstring(text)  # noqa: S314 - our own


def texts(figure: ET.Element) -> Iterator[tuple[float, float, str]]:
    """From where to where each text of the drawing reaches across, and what it says."""
    for text in figure.iterfind(".//svg[@role='img']/text"):
        said, x = text.text or "", float(text.get("x", "nan"))
        width = text_width(said)
        before = {"end": width, "middle": width / 2}.get(text.get("text-anchor", ""), 0)
        yield x - before, x - before + width, said


@pytest.mark.parametrize("name", VIEWS)
def test_a_chart_is_named_described_and_stands_beside_its_table(name: str) -> None:
    view = VIEWS[name]
    figure = drawn(name, view)
    svg = figure.find(".//svg[@role='img']")
    assert svg is not None
    box = figure.find("div")
    assert box is not None
    named = [
        one.text
        for key in svg.get("aria-labelledby", "").split()
        for one in svg.iterfind(f"*[@id='{key}']")
    ]
    rows = [[cell.text for cell in row] for row in figure.iterfind(".//tbody/tr")]

    assert named == [view.title, view.description]
    assert (box.get("tabindex"), box.get("role")) == ("0", "region")
    assert rows == [list(row) for row in view.table.rows]
    assert all(len(row) == len(view.table.heads) for row in rows)
    assert set(Counter(one.get("id") for one in figure.iter() if one.get("id")).values()) == {1}


@pytest.mark.parametrize("name", VIEWS)
def test_no_text_is_cut_off_at_an_edge(name: str) -> None:
    outside = [
        said
        for begin, end, said in texts(drawn(name, VIEWS[name]))
        if begin < -0.5 or end > VIEWS[name].frame.width + 0.5
    ]

    assert outside == []


@pytest.mark.parametrize("name", EMPTY)
def test_nothing_to_draw_is_said_in_words(name: str) -> None:
    figure = drawn(name, EMPTY[name])

    assert figure.find(".//svg") is None
    assert "nothing" in "".join(figure.itertext()) or "There is no" in "".join(figure.itertext())


def test_what_people_wrote_stays_text() -> None:
    flags = [said for _, _, said in texts(drawn("control_chart", VIEWS["control_chart"]))]

    assert "Porters <round> & more" in flags


def test_each_signal_and_each_change_is_told_under_the_chart() -> None:
    view = VIEWS["control_chart"]
    figure = drawn("control_chart", view)
    told = [" ".join("".join(row.itertext()).split()) for row in figure.iterfind("ul/li")]

    assert told == [
        *(f"{one.letter} {one.words}" for one in view.signals),
        *(f"¦ {one.name}: {one.text}" for one in CHANGES),
    ]


def test_no_drawing_is_shown_smaller_than_it_was_drawn() -> None:
    css = (static_folder() / "css" / "charts.css").read_text("utf-8")
    least = re.findall(r"\.chart\.(\w+) {\s+min-width: (\d+)px", css)

    assert {size: float(width) for size, width in least} == WIDTH
