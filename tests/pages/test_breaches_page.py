"""The list of breaches: filters, which are listed, pages, all wards of a person."""

import pytest

from server.domain.payloads import CauseGiven, Issued
from server.domain.words import ClockName
from server.services.actor import Actor
from server.services.enter_shift import ShiftDraft, enter_shift
from server.services.enter_staff import enter_staff
from tests.domain.builders import at
from tests.pages.hospital import Hospital
from tests.services.people import (
    ADMINISTRATOR,
    CHARGE,
    MANAGER,
    NURSE,
    OUTSIDER,
    PROGRAM,
    W1,
    W2,
    staff_draft,
)

HREF = "/wards/w1/breaches"
FIRST = "/episodes/e1/breaches/first_check/1"
BOTH = Actor("manager-2", "Mo Both", MANAGER.role, W1 | W2, staff_id="manager-2")


def late_unit(hospital: Hospital) -> None:
    """Unit `e1`, Nina's, runs without its first check, an hour after the base."""
    with hospital.store.write() as session:
        draft = ShiftDraft("nurse-1", "w1", at(-180), at(570), id="s")
        enter_shift(session, CHARGE, draft, now=at(-200))
        enter_staff(session, ADMINISTRATOR, staff_draft(BOTH), now=at(-200))
    hospital.charting.run(nurse_id="nurse-1")
    hospital.charting.tick(60)
    hospital.clock.now = at(60)


@pytest.mark.parametrize("person", [NURSE, CHARGE, MANAGER, ADMINISTRATOR], ids=lambda one: one.id)
def test_everybody_of_the_ward_sees_its_breaches(hospital: Hospital, person: Actor) -> None:
    late_unit(hospital)

    page = hospital.visit(person).see(HREF)

    assert "First check Tue 3 Mar 10:30 Alder, Ida Red cells 4 30 min open" in page.text
    assert page.links[FIRST] == "First check"
    assert page.links[f"{FIRST}#cause"] == "open: give the cause of First check, bed 4"


def test_somebody_of_another_ward_sees_none_of_them(hospital: Hospital) -> None:
    late_unit(hospital)
    outsider = hospital.visit(OUTSIDER)

    for href in (HREF, f"{HREF}?show=kept", FIRST):
        answer = outsider.get(href)
        assert (answer.status_code, "Alder" in answer.text) == (403, False)


@pytest.mark.parametrize(
    ("query", "shown"),
    [
        (
            "clock=first_check&component=red_cells&shift=07:00-19:30&weekday=2&hour=10&part=day",
            True,
        ),
        ("component=plasma", False),
        ("shift=none", False),
        ("weekday=3", False),
        ("hour=11", False),
        ("part=night", False),
        ("show=open", True),
        ("show=explained", False),
        ("show=kept", False),
    ],
)
def test_filters_narrow_the_list(
    hospital: Hospital,
    query: str,
    shown: bool,  # noqa: FBT001 - a case of the table
) -> None:
    late_unit(hospital)

    page = hospital.visit(MANAGER).see(f"{HREF}?{query}")

    assert (FIRST in page.links) is shown
    form = page.form(HREF)
    said = dict(one.split("=") for one in query.split("&"))
    assert {name: form.values[name] for name in said} == {k: [v] for k, v in said.items()}


def test_filters_offer_the_hours_of_shifts_and_never_a_name(hospital: Hospital) -> None:
    late_unit(hospital)

    page = hospital.visit(MANAGER).see(HREF)

    assert page.form(HREF).options["shift"] == ["", "07:00-19:30"]
    assert "07:00–19:30" in page.text
    assert "Nina" not in page.text
    chosen = hospital.visit(MANAGER).see(f"{HREF}?shift=08:00-12:00")
    assert chosen.form(HREF).options["shift"] == ["", "07:00-19:30", "08:00-12:00"]


@pytest.mark.parametrize(
    ("query", "field"),
    [("weekday=8", "weekday"), ("hour=25", "hour"), ("part=noon", "part"), ("page=two", "page")],
)
def test_a_filter_that_is_none_is_refused(hospital: Hospital, query: str, field: str) -> None:
    late_unit(hospital)

    answer = hospital.visit(MANAGER).get(f"{HREF}?{query}")

    assert (answer.status_code, f'href="#f-{field}"' in answer.text) == (422, True)


def test_tabs_and_limits_lead_on_with_the_same_filters(hospital: Hospital) -> None:
    late_unit(hospital)
    hospital.charting.open("e2", "p2")
    hospital.charting.issue("e2")
    hospital.charting.record(59, CauseGiven(ClockName.FIRST_CHECK, "break or handover", "alone"))
    manager = hospital.visit(MANAGER)

    page = manager.see(f"{HREF}?part=day")

    assert "3 breaches on 2 units: 2 open, 1 explained." in page.text
    assert page.links[f"{HREF}?part=day&show=open"] == "Open 2"
    assert page.links[f"{HREF}?clock=start&part=day"] == "Start 1"
    explained = manager.see(f"{HREF}?part=day&show=explained")
    assert (FIRST in explained.links, "break or handover alone" in explained.text) == (True, True)
    assert "/episodes/e2/breaches/start/1" not in explained.links
    none = manager.see(f"{HREF}?clock=start&show=explained")
    assert "though none of them is explained" in none.text


def test_what_was_shown_as_passed_and_kept_stands_apart(hospital: Hospital) -> None:
    late_unit(hospital)
    hospital.charting.observe(28, now=62)
    hospital.clock.now = at(70)
    manager = hospital.visit(MANAGER)

    assert "No limit was passed in this period" in manager.see(HREF).text
    page = manager.see(f"{HREF}?show=kept")

    said = "First check Tue 3 Mar 10:30 Alder, Ida Red cells 4 32 min"
    assert f"{said} done Tue 3 Mar 10:28, charted 34 min after" in page.text
    nothing = manager.see(f"{HREF}?show=kept&clock=start").text
    assert "Nothing was shown as passed and kept after all" in nothing


def test_fifty_stand_on_a_page(hospital: Hospital) -> None:
    for number in range(51):
        hospital.charting.open(f"e{number:02d}", "p1")
        hospital.charting.issue(f"e{number:02d}")
    hospital.charting.tick(31)
    hospital.clock.now = at(31)
    manager = hospital.visit(MANAGER)

    first = manager.see(f"{HREF}?clock=start")
    second = manager.see(f"{HREF}?clock=start&page=2")

    def units(page: object) -> int:
        return sum(href.endswith("start/1") for href in page.links)  # type: ignore[attr-defined]

    assert (units(first), units(second)) == (50, 1)
    assert "Page 1 of 2" in first.text
    assert first.links[f"{HREF}?clock=start&page=2"] == "Next page"
    assert second.links[f"{HREF}?clock=start&page=1"] == "Previous page"


def test_all_wards_of_a_person_are_one_list(hospital: Hospital) -> None:
    late_unit(hospital)
    hospital.charting.open("e9", "p9", ward_id="w2", bed="9")
    hospital.charting.record(0, Issued(), "e9", actor=PROGRAM)
    both = hospital.visit(BOTH)

    page = both.see("/breaches")

    assert "First check Tue 3 Mar 10:30 Alder, Ida Red cells 4 Ward 1 30 min" in page.text
    # The limit lay at half past ten in UTC; the ward is in Auckland.
    assert "Start Tue 3 Mar 23:30 Elm, Eva Red cells 9 Ward 2 30 min" in page.text
    other = both.see("/breaches?ward=w2")
    assert (FIRST in other.links, "Elm, Eva" in other.text) == (False, True)
    assert both.see(HREF).links["/breaches"] == "All my wards"
    assert both.get("/breaches?ward=w7").status_code == 422


def test_who_has_one_ward_is_sent_to_it_and_who_has_none_to_the_wards(hospital: Hospital) -> None:
    answer = hospital.visit(OUTSIDER).get("/breaches")

    assert (answer.status_code, answer.headers["location"]) == (303, "/wards/w2/breaches")
    assert "/breaches" not in hospital.visit(MANAGER).see(HREF).links


def test_a_limit_of_another_year_says_its_year(hospital: Hospital) -> None:
    late_unit(hospital)
    hospital.clock.now = at(365 * 1440)

    page = hospital.visit(MANAGER).see(f"{HREF}?from=2026-03-01&to=2026-03-04")

    assert "First check Tue 3 Mar 2026 10:30" in page.text
