"""The page of the record for the notes: who finds it, what it says, and when it refuses."""

import re

import pytest

from server.services.actor import Actor
from tests.domain.builders import at
from tests.pages.hospital import Hospital
from tests.pages.told_units import give, mend, react
from tests.services.people import ADMINISTRATOR, CHARGE, MANAGER, NURSE, OUTSIDER

PAGE = "/episodes/e1/record"


@pytest.mark.parametrize("person", [NURSE, MANAGER, ADMINISTRATOR], ids=lambda one: one.id)
def test_the_unit_leads_to_it_for_everybody_who_reads_it(hospital: Hospital, person: Actor) -> None:
    give(hospital)
    browser = hospital.visit(person)

    assert browser.see("/episodes/e1").links[PAGE] == "Record for the notes"
    page = browser.see(PAGE)
    assert page.links["/episodes/e1"] == "To the unit"
    assert f"by {person.name}, " in page.text


def test_a_nurse_of_another_ward_is_refused_and_reads_no_name(hospital: Hospital) -> None:
    give(hospital)

    answer = hospital.visit(OUTSIDER).get(PAGE)

    assert (answer.status_code, "Alder" in answer.text) == (403, False)


def test_the_paper_says_everything_in_its_order(hospital: Hospital) -> None:
    give(hospital)

    text = hospital.visit(CHARGE).see(PAGE).text

    said = (
        (
            "Record of one transfusion Patient Alder, Ida Born 4 May 1961 Record number T000001 "
            "Unit Red cells, A9999 26 123456 T Times are ward times of Tue 3 March 2026, GMT ; "
            "of other days with their date."
        ),
        "Blood group not recorded",
        "Out of storage to start 13 min Start to end 2 h 00",
        "Course Course of the unit Time Entry By 09:30 Assigned: taken over by Nina Nurse",
        "10:25 36.8 92 16 124/76 97 air alert 1 First check Nina Nurse",
        "In no set: Symptoms. NEWS2 not calculated at 11:24:",
        "11:10 Volume read: 26 mL less than by the rates 150 100 Nina Nurse",
        "Deviations from local policy No limit was passed.",
        "Reaction No reaction was suspected.",
        "Corrections and late entries Nothing was voided. No late entry.",
        "Policy: Common practice, version",
        "Signature Name and role Date and time",
        "Fourth Hour supports, and does not replace, local policy",
    )
    places = [text.find(one) for one in said]
    assert (min(places) > 0, places) == (True, sorted(places))
    assert text.count("It is not a medical device") == 1


def test_what_was_voided_is_struck_through_and_who_voided_it_is_not(hospital: Hospital) -> None:
    mend(hospital)

    page = hospital.visit(CHARGE).see(PAGE)

    assert re.findall(r"<s>(.*?)</s>", page.html) == ["10:12", "Note: for bed 5"]
    assert "Cleo Colleague voided 10:14 by Nina Nurse: another patient" in page.text
    assert page.text.count("late entry: recorded") == 2
    assert "First check , limit 10:30: 15 min late. Cause: no second checker: both" in page.text


def test_a_reaction_and_what_is_missing_of_it_are_said(hospital: Hospital) -> None:
    react(hospital)

    text = hospital.visit(CHARGE).see(PAGE).text

    assert (
        "Reaction Suspected 10:40, 30 min after the start, with 30 mL given: fever, chills or "
        "rigors. Outcome: closed 11:00 Nina Nurse: febrile reaction (mild)."
    ) in text
    assert "Not recorded: 0.9 % saline through a new set keeps the vein open;" in text
    assert "Reaction check , limit 10:45: 2 min late. No cause given." in text
    assert "Not recorded: Rate review." in text


def test_a_cancelled_order_leaves_a_paper_of_gaps(hospital: Hospital) -> None:
    hospital.charting.open()

    text = hospital.visit(CHARGE).see(PAGE).text

    assert "Not finished at 10:00: requested." in text
    for said in ("Course Nothing recorded.", "Vital signs No set recorded.", "Never started."):
        assert said in text


def test_it_is_made_as_of_any_instant_and_of_what_was_known(hospital: Hospital) -> None:
    mend(hospital)
    browser = hospital.visit(CHARGE)

    page = browser.see(f"{PAGE}?at=2026-03-03T10:40:00Z&known_at=2026-03-03T10:40:00Z")

    past = (
        "as it stood at 10:40 on 3 March 2026, GMT, with what was recorded by 10:40 on "
        "3 March 2026, GMT."
    )
    assert f"This is the past: {past} To the record of now" in page.text
    assert page.text.count(f"The past, {past}") == 2  # at the head, and where it is signed
    assert page.links[PAGE] == "To the record of now"
    assert "Not finished at 10:40: running." in page.text
    assert "88" not in page.text  # the set of 10:26 was recorded at 10:50


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        ("at=2026-03-03T14:00:01Z", "At: lies in the future; expected an instant that has been."),
        ("at=yesterday", "At: expected an instant with its offset, such as 2026-11-25t14:10:00z."),
        ("known_at=2026-03-03T10:00:00", "Known_at: expected an instant with its offset,"),
        (f"at={'1' * 41}", "The address is wrong in: at."),
    ],
)
def test_an_instant_that_cannot_be_is_refused_by_its_name(
    hospital: Hospital, asked: str, said: str
) -> None:
    give(hospital)

    answer = hospital.visit(CHARGE).get(f"{PAGE}?{asked}")

    assert (answer.status_code, said in answer.text) == (422, True)


def test_a_unit_that_is_not_there_is_not_found(hospital: Hospital) -> None:
    hospital.charting.open(now=at(-5))

    early = hospital.visit(CHARGE).get(f"{PAGE}?known_at=2026-03-03T09:50:00Z")

    assert early.status_code == 404
    assert hospital.visit(CHARGE).get("/episodes/e9/record").status_code == 404
