"""The report of a period: whole, by role, noted, and without a name unless one was asked for."""

import json
import re

import pytest

from server.domain.payloads import CauseGiven, Completed, FateRecorded
from server.domain.words import ClockName, Fate
from server.services.actor import Actor
from server.services.note_ward_change import note_ward_change
from tests.domain.builders import at
from tests.pages.hospital import Hospital
from tests.services.people import ADMINISTRATOR, CHARGE, MANAGER, NURSE, OUTSIDE_CHARGE
from tests.services.trail import said

PATH = "/wards/w1/report"
NUMBER = "G123426000017"


@pytest.fixture
def charted(hospital: Hospital) -> Hospital:
    """One unit given with its first check missed and explained, one started late, one forgotten."""
    charting = hospital.charting
    charting.open("given", "p1")
    charting.issue("given", unit_number=NUMBER)
    charting.observe(5, "p1")
    charting.start("given")
    charting.record(90, Completed(), "given")
    charting.observe(95, "p1")
    charting.record(100, FateRecorded(Fate.TRANSFUSED), "given")
    charting.record(101, CauseGiven(ClockName.FIRST_CHECK, "handover", n=1), "given")
    charting.open("late", "p2")
    charting.issue("late", minute=110)
    charting.observe(145, "p2")
    charting.start("late", minute=147)
    charting.open("forgotten", "p2")
    charting.issue("forgotten", minute=160)
    with hospital.store.write() as session:
        note_ward_change(session, MANAGER, "w1", at(0).date(), "new porter round", now=at(0))
    hospital.clock.now = at(600)
    return hospital


def test_a_report_tells_the_period_and_names_nobody(charted: Hospital) -> None:
    page = charted.visit(MANAGER).see(PATH)

    for words in (
        (
            "Review of Ward 1 1 February 2026 to 3 March 2026 Made 3 March 2026, 20:00 GMT, by "
            "Mona Manager, manager, with Fourth Hour"
        ),
        "Patients not named",
        "In short",
        "1 of 3 units are accounted for: 33.3 %. 2 units are missing.",
        "Half of 3 units had been started by 37 min after issue.",
        "First check 2 0 0 2 too few",
        "First check 2 1 handover 1",
        "Start, 7 min late Tue 3 Mar 2026 12:20 no number, red cells",
        "Missing Missing units What Issued Unit started Tue 3 Mar 12:27, no end recorded",
        "issued Tue 3 Mar 12:40, neither started nor returned",
        "85 % to 88 % of 1273 transfusions, one hospital, United States, 2025: vital signs",
        "3 March 2026: new porter round",
        "Is it changing? Values come and go",
        "¦ 3 Mar 2026: new porter round",
    ):
        assert words in page.text, words
    assert re.findall(r'<title id="(.*?)-title">(.*?)</title>', page.html)[1:] == [
        ("kept", "First check: kept in time"),
        ("starts", "Median minutes from issue to start"),
        ("start-component", "From issue to start"),
        ("end-component", "From issue to end"),
    ]
    for name in ("Alder", "Birch", "T000001", "bed 4", "Elm"):
        assert name not in page.text


def test_with_names_it_names_the_patients_of_what_is_open(charted: Hospital) -> None:
    page = charted.visit(CHARGE).see(f"{PATH}?identity=with")

    line = "Start, 7 min late Tue 3 Mar 2026 12:20 no number, red cells Birch, Bo, T000002, bed 4"
    assert line in page.text
    assert "named: keep it as you keep the notes" in page.text
    assert "Elm" not in page.text


def test_a_report_stands_in_the_trail_with_its_days_and_whether_it_names(charted: Hospital) -> None:
    browser = charted.visit(MANAGER)
    browser.see(f"{PATH}?from=2026-03-01&to=2026-03-03&identity=with")
    browser.see(f"{PATH}?from=2020-01-01&to=2020-01-02")

    found = [
        row for row in said(charted.store, "act", "subject_kind", "detail") if row[0] == "exported"
    ]
    assert [row[1] for row in found] == ["review", "review"]
    assert [json.loads(f"{row[2]}") for row in found] == [
        {
            "sheet": "report",
            "format": "print",
            "identity": "with",
            "only": "from 1 March 2026 to 3 March 2026",
            "rows": 9,  # seven open breaches and two missing units
        },
        {
            "sheet": "report",
            "format": "print",
            "identity": "without",
            "only": "from 1 January 2020 to 2 January 2020",
            "rows": 0,
        },
    ]


def test_a_period_with_nothing_in_it_says_so(charted: Hospital) -> None:
    page = charted.visit(MANAGER).see(f"{PATH}?from=2020-01-01&to=2020-01-02")

    for words in (
        "No limit was passed in this period.",
        "No unit came in this period.",
        "No unit was issued in this period.",
        "There is no rate to draw.",
    ):
        assert words in page.text


@pytest.mark.parametrize(
    ("asked", "why"),
    [
        ("from=2026-03-04&to=2026-03-03", "lies before the first day"),
        ("from=2024-01-01&to=2026-03-03", "makes more than 366 days"),
        ("from=soon", "expected"),
    ],
)
def test_what_is_no_period_is_refused_beside_its_field(
    charted: Hospital, asked: str, why: str
) -> None:
    answer = charted.visit(MANAGER).get(f"{PATH}?{asked}")

    assert answer.status_code == 422
    assert why in answer.text
    assert ("exported",) not in said(charted.store, "act")


@pytest.mark.parametrize(
    ("person", "with_identity", "without"),
    [(ADMINISTRATOR, 403, 200), (NURSE, 403, 403), (OUTSIDE_CHARGE, 403, 403)],
    ids=lambda one: getattr(one, "id", ""),
)
def test_a_report_is_refused_by_role_and_ward(
    charted: Hospital, person: Actor, with_identity: int, without: int
) -> None:
    browser = charted.visit(person)

    assert browser.get(f"{PATH}?identity=with").status_code == with_identity
    assert browser.get(PATH).status_code == without
