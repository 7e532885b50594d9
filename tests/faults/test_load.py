"""The pieces that give and measure load do what they say, with little of it; nothing is timed here.

What the program bears is measured by `python -m tests.benchmarks load` and `growth`.
"""

import xml.etree.ElementTree as ET
from pathlib import Path

from server.clock import utc_now
from server.store.log import last_position
from server.store.store import Store
from tests.benchmarks.load.ground import Size, make_ground
from tests.benchmarks.load.growth import kept
from tests.benchmarks.load.growth_chart import CHART, chart, table
from tests.benchmarks.load.run import Plan, give
from tests.benchmarks.load.tables import percentile
from tests.benchmarks.load.topologies import serving
from tests.conftest import PROJECT
from tests.faults.asking import say

SVG = "{http://www.w3.org/2000/svg}"


def test_what_is_posted_is_recorded_and_seen_on_every_board_of_its_ward(tmp_path: Path) -> None:
    ground = make_ground(tmp_path / "made.db", utc_now(), Size(wards=2, boards=3, closed=40))
    address = f"sqlite:///{ground.file}"
    before = _recorded(address)
    plan = Plan(1.5, 12.0, boards=3, clients=4, quiet_seconds=0.2, warm_seconds=0.5)
    with serving(address, tmp_path / "key", watching=ground.watching) as served:
        found = give(ground, plan, served.web, address, served.spent)

    say(f"{found.posted} facts, seen at most {percentile(found.seen, 1.0):.2f} s later")
    assert (found.refused, found.unseen, len(ground.scripts)) == ([], 0, 50)
    assert len(found.answered) == found.posted
    assert len(found.seen) == 3 * found.posted
    assert min(found.seen) > 0
    # Those of the warming up came before.
    assert 15 <= found.posted <= 19 < _recorded(address) - before <= 27
    assert set(found.cpu) == {"web", "load"}
    assert found.cpu["web"] > found.cpu["load"] > 0


def test_what_grew_is_drawn_as_the_figures_are_that_are_kept() -> None:
    figures = kept()

    drawn = CHART.read_text("utf-8")
    assert drawn == chart(figures)
    assert table(figures) in (PROJECT / "DEVELOPERS.md").read_text("utf-8")
    texts = [one.text for one in ET.fromstring(drawn).iter(f"{SVG}text")]  # noqa: S314 - our own
    sizes, (first, *_) = list(figures), figures.values()
    assert [name for name in first if name not in texts] == []
    assert sum(any(f"× {size}" in str(text) for size in sizes[1:]) for text in texts) == (
        len(first) * (len(sizes) - 1)
    )


def test_ten_times_as_much_ends_ten_times_as_far_from_nothing() -> None:
    figures = {"few": {"a fact, ms": 2.0}, "many": {"a fact, ms": 20.0}}
    same = {"few": {"a fact, ms": 2.0}, "many": {"a fact, ms": 2.0}}

    widths = [_bar(chart(one)) for one in (figures, same)]

    assert round(widths[0] / widths[1], 3) == 10.0
    assert "| a fact, ms | 2.0 | 20 (10.0×) |" in table(figures)


def _bar(drawn: str) -> float:
    """The width of the only bar; the first rectangle is the ground."""
    bars = list(ET.fromstring(drawn).iter(f"{SVG}rect"))  # noqa: S314 - our own
    return float(bars[1].attrib["width"])


def _recorded(address: str) -> int:
    store = Store(address)
    with store.read() as session:
        last = last_position(session)
    store.close()
    return last
