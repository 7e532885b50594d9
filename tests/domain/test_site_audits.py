"""`audits.toml`: what is shipped is whole, and what is wrong is refused by its line."""

from dataclasses import replace

import pytest

from server.domain.policy import PolicyError
from server.domain.review.audits import Audit, Measure
from server.site import example, load_site
from server.site.audits import read_audits

ONE = """
[night]
measure = "started_at_night"
percent = [9, 10.5]
count = 9
of = 100
of_what = "red cell units"
year = 2010
place = "a hospital"
counted = "given at night"
differs = "Routine units only."
source = "A journal 2010"
read = "the abstract"
verified = true
"""
READ = Audit(
    key="night",
    measure=Measure.STARTED_AT_NIGHT,
    low=0.09,
    high=0.105,
    count=9,
    of=100,
    of_what="red cell units",
    year=2010,
    place="a hospital",
    counted="given at night",
    differs="Routine units only.",
    source="A journal 2010",
    read="the abstract",
    verified=True,
)


def test_what_is_shipped_has_something_for_every_measure() -> None:
    shipped = load_site().audits

    assert {one.measure for one in shipped} == set(Measure)
    assert len({one.key for one in shipped}) == len(shipped)
    for one in shipped:
        if one.count is not None and one.of is not None:
            assert round(one.count / one.of, 2) == round(one.low, 2)


def test_a_range_and_one_figure() -> None:
    one_figure = ONE.replace("[9, 10.5]", "9").replace("count = 9\nof = 100\n", "")

    assert read_audits(ONE) == (READ,)
    assert read_audits(one_figure) == (replace(READ, high=0.09, count=None, of=None),)


def test_figures_that_make_awkward_fractions_are_read_as_they_are_written() -> None:
    assert read_audits(ONE.replace("[9, 10.5]", "[95.7, 98.8]"))[0].low == 0.957


def test_a_hospital_may_leave_all_out() -> None:
    assert read_audits("") == ()
    assert read_audits(example("audits.toml")) == load_site().audits


@pytest.mark.parametrize(
    ("before", "after", "line", "message"),
    [
        ("count = 9", "cuont = 9", 5, "night.cuont is unknown; expected count"),
        ("started_at_night", "started_at_nigt", 3,
         "night.measure: 'started_at_nigt'; expected started_at_night"),
        ("[9, 10.5]", "[10.5, 9]", 4,
         "night.percent: [10.5, 9]; expected 0 to 100, or [lowest, highest]"),
        ("[9, 10.5]", "[9]", 4, "night.percent: [9]; expected 0 to 100, or [lowest, highest]"),
        ("[9, 10.5]", "100.1", 4, "night.percent: 100.1; expected 0 to 100, or [lowest, highest]"),
        ("[9, 10.5]", "[9, true]", 4,
         "night.percent: [9, True]; expected 0 to 100, or [lowest, highest]"),
        ("count = 9", "count = -1", 5, "night.count: -1; expected a whole number"),
        ("of = 100", "of = true", 6, "night.of: True; expected a whole number"),
        ("of = 100", "of = 1.5", 6, "night.of: 1.5; expected a whole number"),
        ("year = 2010", "year = 210", 8, "night.year: 210; expected a year, such as 2016"),
        ("year = 2010\n", "", 2, "night.year: None; expected a year, such as 2016"),
        ("verified = true\n", "", 2, "night.verified: None; expected true or false"),
        ('read = "the abstract"', 'read = " "', 13, "night.read is missing; expected a text"),
        ('place = "a hospital"', "place = 3", 9, "night.place: 3; expected a text"),
        (ONE, "night = 3\n", 1, "night: 3; expected a table [night]"),
    ],
)  # fmt: skip
def test_a_wrong_figure_is_refused_by_its_line(
    before: str, after: str, line: int, message: str
) -> None:
    with pytest.raises(PolicyError) as refused:
        read_audits(ONE.replace(before, after, 1))

    assert str(refused.value) == f"audits.toml, line {line}: {message}"
