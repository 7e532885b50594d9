"""The page of an identity check: what stops it, what is typed, and what policy and order ask."""

import pytest

from server.domain.payloads import CheckedItem
from tests.domain.builders import at
from tests.pages.hospital import Hospital
from tests.pages.identity_page import FIRST_READ, HERE, SPOKEN, facts, read_all
from tests.pages.reading import Page
from tests.services.charting import local_policy
from tests.services.identity import (
    BAND,
    DIN_AND_GROUP,
    PRODUCT_AND_EXPIRY,
    bedside,
    irradiated,
)
from tests.services.people import CHARGE, COLLEAGUE, MANAGER, NURSE, OUTSIDER


@pytest.fixture
def ward(hospital: Hospital) -> Hospital:
    """Unit `e1` was issued with all that its label says; five minutes later."""
    bedside(hospital.charting)
    hospital.clock.now = at(5)
    return hospital


# ---- what stops a check ----


def test_another_patients_band_stops_and_says_which_item(ward: Hospital) -> None:
    nurse = ward.visit(NURSE)

    assert nurse.done(HERE, "scan", scan="T000002") == HERE

    page = nurse.see(HERE)
    assert "Stop: this does not agree Record number" in " ".join(
        page.text.replace("!!!", "").split()
    )
    assert "Form T000001" in page.text
    assert [form.key for form in page.forms if form.key] == []
    assert [fact.mismatches for fact in facts(ward)] == [("record_number",)]


@pytest.mark.parametrize("scans", [(), (BAND,)], ids=["first of all", "later"])
def test_what_does_not_agree_can_be_said(ward: Hospital, scans: tuple[str, ...]) -> None:
    nurse = ward.visit(NURSE)
    for scan in scans:
        nurse.done(HERE, "scan", scan=scan)

    page = nurse.see(HERE)
    form = next(form for form in page.forms if "denied" in form.options)
    assert form.options["denied"] == [
        *SPOKEN,
        "record_number",
        "blood_group",
        "expiry",
        "unit_number",
    ]
    nurse.post(HERE, form.filled({"denied": "name"}))

    assert [fact.mismatches for fact in facts(ward)] == [("name",)]


def test_after_an_interruption_all_begins_again(ward: Hospital) -> None:
    nurse = ward.visit(NURSE)
    read_all(nurse)

    nurse.done(HERE, f"{HERE}/interrupted")

    page = nurse.see(HERE)
    assert "The check was interrupted" in page.text
    assert [fact.interrupted for fact in facts(ward)] == [True]
    again = nurse.see(f"{HERE}?begin=again")
    assert "Read 0 of 6" in again.text
    assert f"{HERE}?begin=again" in page.links
    answer = nurse.post(HERE, again.form("scan").filled({"scan": BAND}))
    assert answer.status_code == 303
    assert "Read 1 of 6" in nurse.see(HERE).text


def test_a_refused_reading_of_a_new_check_keeps_its_page(ward: Hospital) -> None:
    nurse = ward.visit(NURSE)
    read_all(nurse)
    nurse.done(HERE, f"{HERE}/interrupted")
    form = nurse.see(f"{HERE}?begin=again").form("scan")

    answer = nurse.post(HERE, form.filled({"scan": "=%51"}))

    page = Page(answer.text)
    assert (answer.status_code, page.form("scan").values["scan"]) == (422, ["=%51"])


def test_a_check_left_unfinished_says_so(ward: Hospital) -> None:
    nurse = ward.visit(NURSE)
    read_all(nurse)
    ward.clock.now = at(21)

    assert "The check was left unfinished" in nurse.see(HERE).text
    assert "Read 0 of 6" in ward.visit(COLLEAGUE).see(f"{HERE}?begin=again").text


def test_a_reading_for_a_check_that_was_interrupted_meanwhile_is_refused(ward: Hospital) -> None:
    nurse, charge = ward.visit(NURSE), ward.visit(CHARGE)
    nurse.done(HERE, "scan", scan=BAND)
    form = nurse.see(HERE).form("spoken")
    charge.done(HERE, f"{HERE}/interrupted")

    answer = nurse.post(HERE, form.filled({"confirmed": SPOKEN}))

    page = Page(answer.text)
    assert (answer.status_code, "this check has ended; begin again from the top" in page.text) == (
        409,
        True,
    )
    assert len(facts(ward)) == 1


# ---- entering by hand ----


def test_everything_can_be_typed(ward: Hospital) -> None:
    nurse = ward.visit(NURSE)

    typed = {
        "record_number": "t000001",
        "blood_group": "O+",
        "expiry_date": "2026-03-05",
        "expiry_time": "",
        "unit_number": "A9999 26 123456 T",
    }
    nurse.done(HERE, "hand", **typed)

    assert "Read 4 of 6" in nurse.see(HERE).text


def test_each_slip_is_refused_beside_its_field_and_nothing_is_lost(ward: Hospital) -> None:
    nurse = ward.visit(NURSE)
    before = ward.charting.everything("audit")

    typed = {
        "record_number": BAND,
        "expiry_date": "2026-03-05",
        "expiry_time": "25:00",
        "unit_number": "A9999 26 123456 K",
    }
    answer = nurse.send(HERE, "hand", **typed)

    page = Page(answer.text)
    assert answer.status_code == 422
    assert page.errors == {
        "i-expiry_date": "expected a time from 00:00 to 23:59",
        "i-unit_number": "does not fit its check character; expected the number as it is "
        "on the label",
    }
    kept = page.form("hand").values
    assert {name: kept[name] for name in typed} == {name: [text] for name, text in typed.items()}
    assert "by-hand" in page.opened_details
    assert ward.charting.everything("audit") == before


@pytest.mark.parametrize(
    ("values", "why"),
    [
        ({"scan": ""}, "nothing was entered; scan the wristband or the bag, or type what they say"),
        ({"scan": "=%51"}, "is cut short"),
        # a plain code that is no record number of this site
        ({"scan": "12 34"}, "is no "),
        ({"confirmed": "unit_number"}, "cannot be confirmed by a touch"),
        ({"confirmed": "shoe size"}, "is none of the items"),
        ({"denied": "shoe size"}, "is none of the items"),
    ],
)
def test_what_cannot_be_a_reading_is_refused(
    ward: Hospital, values: dict[str, str], why: str
) -> None:
    nurse = ward.visit(NURSE)
    token = nurse.see(HERE).form("scan").values["csrf_token"]

    answer = nurse.post(HERE, {"csrf_token": token, "check": "", **values})

    assert (answer.status_code, why in Page(answer.text).text) == (422, True)


def test_a_double_tap_stores_once(ward: Hospital) -> None:
    nurse = ward.visit(NURSE)
    form = nurse.see(HERE).form("spoken")

    answers = [nurse.post(HERE, form.filled({"confirmed": SPOKEN})).status_code for _ in range(2)]

    assert answers == [303, 303]
    assert len(ward.charting.everything()["identity_reading"]) == 2
    assert len(ward.charting.everything()["identity_check"]) == 1


def test_the_last_reading_sent_twice_leads_to_the_same_fact(ward: Hospital) -> None:
    read_all(ward.visit(NURSE))
    colleague = ward.visit(COLLEAGUE)
    for scan in (BAND, DIN_AND_GROUP, PRODUCT_AND_EXPIRY):
        colleague.done(HERE, "scan", scan=scan)
    form = colleague.see(HERE).form("spoken")
    late = colleague.see(HERE).form("scan").filled({"scan": "T000002"})

    answers = [colleague.post(HERE, form.filled({"confirmed": SPOKEN})) for _ in range(2)]

    recorded = ward.charting.episode(9).events[-1].id
    assert [answer.headers["location"] for answer in answers] == [
        f"/episodes/e1?recorded={recorded}"
    ] * 2
    assert len(facts(ward)) == 1
    assert colleague.post(HERE, late).status_code == 409


# ---- policies, orders, permissions ----


def test_one_person_is_enough_where_the_policy_says_so(hospital: Hospital) -> None:
    policy = local_policy("[identity.checkers]\nvalue = 1\n")
    hospital.charting.put_in_force(policy, when=-300)
    bedside(hospital.charting)
    hospital.clock.now = at(5)
    nurse, colleague = hospital.visit(NURSE), hospital.visit(COLLEAGUE)
    nurse.done(HERE, "scan", scan=BAND)

    assert colleague.see(HERE).forms[1:] == [colleague.see(HERE).form(f"{HERE}/interrupted")]
    assert read_all(nurse).startswith("/episodes/e1?recorded=")
    assert facts(hospital)[0].second_by is None
    assert "One person has read every item" in nurse.see(HERE).text


def test_special_requirements_are_looked_for_on_the_bag(hospital: Hospital) -> None:
    unit = irradiated(hospital.charting)
    hospital.clock.now = at(5)
    nurse, here = hospital.visit(NURSE), f"/episodes/{unit.episode_id}/identity"
    assert read_all(nurse, here) == here

    page = nurse.see(here)

    assert "Special requirements irradiated The bag shows all of this" in page.text
    nurse.done(here, "marks")
    assert "Your readings are in" in nurse.see(here).text


def test_the_manager_sees_how_it_stands_and_enters_nothing(ward: Hospital) -> None:
    read_all(ward.visit(NURSE))
    manager = ward.visit(MANAGER)

    page = manager.see(HERE)

    assert [form.action for form in page.forms] == ["/sign-out"]
    assert [text for text in FIRST_READ[3:] if text in page.html] == []
    token = page.forms[0].values["csrf_token"]
    before = ward.charting.everything()
    for path, values in ((HERE, {"scan": BAND}), (f"{HERE}/interrupted", {"check": "x"})):
        answer = manager.post(path, {"csrf_token": token, **values})
        assert answer.status_code in (403, 404)
    assert ward.charting.everything() == before


def test_colleagues_are_called_to_a_check_that_waits(ward: Hospital) -> None:
    read_all(ward.visit(NURSE))

    page = ward.visit(COLLEAGUE).see("/identity-checks")

    said = "Bed 4: Nina Nurse waits for a second person to check identity."
    assert page.text == f"{said} Check with Nina Nurse"
    assert page.links == {HERE: "Check with Nina Nurse"}
    for person in (NURSE, MANAGER, OUTSIDER):
        assert ward.visit(person).see("/identity-checks").text == ""
    assert ward.visit().get("/identity-checks").headers["location"].startswith("/sign-in")


@pytest.mark.parametrize("path", [HERE, f"{HERE}/waiting"])
def test_somebody_from_another_ward_opens_nothing(ward: Hospital, path: str) -> None:
    answer = ward.visit(OUTSIDER).get(path)

    assert (answer.status_code, "Alder" in answer.text) == (403, False)


def test_a_unit_that_runs_is_checked_no_more(hospital: Hospital) -> None:
    hospital.charting.run()
    hospital.clock.now = at(40)

    page = hospital.visit(NURSE).see(HERE)

    assert "identity is checked between issue and start" in page.text
    assert [form.action for form in page.forms] == ["/sign-out"]
    assert CheckedItem("name", matched=True) in facts(hospital)[0].items
