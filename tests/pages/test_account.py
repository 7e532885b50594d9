"""The page of the units: missing ones first and by name, nothing of elsewhere, a number found."""

import pytest

from server.domain.payloads import Completed, FateRecorded, Issued, Returned
from server.domain.words import Fate
from tests.domain.builders import at
from tests.pages.hospital import Hospital
from tests.services.people import CHARGE, MANAGER, PROGRAM

PATH = "/wards/w1/accounts"
NUMBER = "G123426000017"
BAG = Issued(at(2), NUMBER, product_code="E0336", division="00")


@pytest.fixture
def charted(hospital: Hospital) -> Hospital:
    """One given, one sent back late, one never started, and a bag that another ward holds too."""
    charting = hospital.charting
    charting.run("given", "p1")
    charting.record(120, Completed(), "given")
    charting.record(130, FateRecorded(Fate.TRANSFUSED), "given")
    charting.open("back", "p2", history=True)
    charting.record(5, BAG, "back")
    charting.record(45, Returned("porter late"), "back")
    charting.open("forgotten", "p2")
    charting.issue("forgotten", minute=3)
    charting.open("elsewhere", "p9", ward_id="w2", history=True)
    charting.record(30, BAG, "elsewhere", actor=PROGRAM)
    hospital.clock.now = at(600)
    return hospital


def test_missing_units_come_first_by_name_and_the_share_is_told(charted: Hospital) -> None:
    page = charted.visit(MANAGER).see(PATH)

    for words in (
        "2 of 3 units are accounted for: 66.7 %. 1 unit is missing.",
        "The target is every unit. 2 units have no number recorded.",
        (
            "Held twice at once: G1234 26 000017 P. Ward 1, since Tue 3 Mar 2026 10:05 and Ward 2, "
            "since Tue 3 Mar 2026 10:30. Ask the laboratory which is right."
        ),
        (
            "Missing issued Tue 3 Mar 10:03, neither started nor returned Open the unit Red cells "
            "no unit number recorded Birch, Bo T000002, bed 4 Tue 3 Mar 2026 10:03 no removal "
            "time: counted from issue"
        ),
        "Transfused 12:10 Open the unit Red cells no unit number recorded",
        (
            "Returned 10:45 G1234 26 000017 P Red cells, E0336 00 Birch, Bo T000002, bed 4 "
            "Tue 3 Mar 2026 10:05 left storage 10:02 – – 43 min 13 min over policy"
        ),
        "kept for 30 years, of those listed until 3 March 2056 at least.",
    ):
        assert words in page.text
    assert page.text.index("neither started") < page.text.index("Transfused 12:10")
    assert "Elm" not in page.text
    assert {"/episodes/back", "/episodes/given", "/episodes/forgotten"} <= set(page.links)
    assert "/episodes/elsewhere" not in page.links


def test_a_unit_is_found_by_its_number_in_any_period(charted: Hospital) -> None:
    browser = charted.visit(CHARGE)
    found = browser.see(f"{PATH}?from=2020-01-01&to=2020-01-02&number=g1234+26+000017")
    nothing = browser.see(f"{PATH}?number=G123426000018")

    assert "1 with this number on this ward." in found.text
    assert "Birch, Bo" in found.text
    assert "Elm" not in found.text
    assert "No unit of this number came to this ward" in nothing.text


@pytest.mark.parametrize(
    ("asked", "why"),
    [
        ("from=2026-03-04&to=2026-03-03", "lies before the first day"),
        ("from=2024-01-01&to=2026-03-03", "makes more than 366 days"),
        ("from=soon&to=2026-03-03", "expected"),
        ("number=%3DG12342600001760", "carries a check value that does not fit"),
    ],
)
def test_what_cannot_be_asked_is_refused_beside_its_field(
    charted: Hospital, asked: str, why: str
) -> None:
    answer = charted.visit(MANAGER).get(f"{PATH}?{asked}")

    assert answer.status_code == 422
    assert why in answer.text


def test_pages_lead_on_and_a_period_without_units_says_so(charted: Hospital) -> None:
    for n in range(51):
        charted.charting.open(f"u{n:02d}", "p1", now=590)
        charted.charting.issue(f"u{n:02d}", minute=591)
    browser = charted.visit(MANAGER)
    first = browser.see(PATH)
    (later,) = [href for href in first.links if "first=50" in href]
    second = browser.see(later)
    empty = browser.see(f"{PATH}?from=2020-01-01&to=2020-01-02")

    assert "51 units are still in hand." in first.text
    assert "Units 1 to 50 of 54" in first.text
    assert "Units 51 to 54 of 54" in second.text
    assert [href for href in second.links if "first=0" in href]
    assert "No unit came in this period" in empty.text
