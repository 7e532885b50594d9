"""The audit trail as a page: in plain words, narrowed, by pages, with how the chain stands."""

from dataclasses import replace
from urllib.parse import parse_qsl

import pytest

from server.domain.audit import AuditAct, Subject, SubjectKind
from server.domain.words import Role
from server.pages.audit_words import ACT, SUBJECT
from server.services.actor import Actor
from server.services.audit import note
from server.services.check_audit import keep_checking
from server.services.enter_shift import ShiftDraft, enter_shift
from server.services.enter_staff import enter_staff
from server.services.read_audit import PAGE
from tests.domain.builders import at
from tests.pages.hospital import Hospital
from tests.pages.reading import Page
from tests.pages.test_who_may_see import with_a_unit
from tests.services.people import ADMINISTRATOR, CHARGE, MANAGER, NURSE, OUTSIDER, staff_draft
from tests.services.trail import links, tamper

DAY = "from=2026-03-03&to=2026-03-03"


@pytest.fixture
def looked_at(hospital: Hospital) -> Hospital:
    """Unit `e1` runs, and its nurse has looked at it."""
    with_a_unit(hospital).visit(NURSE).get("/episodes/e1")
    return hospital


def test_acts_looks_and_facts_are_told_as_one(looked_at: Hospital) -> None:
    page = looked_at.visit(MANAGER).see(f"/audit?{DAY}")

    row = len(links(looked_at.store)) - 1
    look = f"Tue 3 Mar 2026 10:40:00 row {row - 1} Nina Nurse bedside nurse looked at a unit"
    assert f"{look} Alder, Ida T000001 Ward 1" in page.text
    assert (
        "Tue 3 Mar 2026 10:10:00 Nina Nurse recorded: started Alder, Ida T000001 Ward 1"
        in page.text
    )
    assert page.text.index("signed in") < page.text.index("recorded: started")
    assert "/episodes/e1" in page.links
    assert "Nothing of the trail is ever deleted here; the policy wants it kept for 30 years." in (
        page.text
    )


def test_a_changed_shift_is_told_from_when_to_when(hospital: Hospital) -> None:
    shift = ShiftDraft("nurse-1", "w1", at(0), at(480), (), "s1")
    with hospital.store.write() as session:
        enter_shift(session, CHARGE, shift, now=at(0))
        enter_shift(session, CHARGE, replace(shift, ends_at=at(510)), now=at(1))
    text = hospital.visit(MANAGER).see(f"/audit?{DAY}").text

    assert "entered a shift: Nina Nurse" in text
    assert "changed a shift: Nina Nurse" in text
    assert "ends: 2026-03-03T18:30:00Z (was 2026-03-03T18:00:00Z)" in text
    assert "begins: 2026-03-03T10:00:00Z" in text
    assert "breaks: none" in text


@pytest.mark.parametrize(
    ("query", "shown"),
    [
        (f"{DAY}&person=nurse-1&act=viewed", ["looked at a unit"]),
        (f"{DAY}&record_number=T000001&act=viewed", ["looked at a unit"]),
        (f"{DAY}&ward=w1&act=viewed", ["looked at a unit"]),
        ("record_number=T000001&from=2026-03-03&act=viewed", ["looked at a unit"]),
        ("record_number=T000002", []),
        (f"{DAY}&person=charge-1", []),
        ("from=2026-03-01&to=2026-03-02&act=viewed", []),
    ],
)
def test_it_is_narrowed_by_person_patient_ward_act_and_day(
    looked_at: Hospital, query: str, shown: list[str]
) -> None:
    asked = dict(parse_qsl(query))
    page = Page(looked_at.visit(MANAGER).send("/audit", "/audit", **asked).text)

    assert [
        words for words in ("looked at a unit", "recorded: start") if words in page.text
    ] == shown
    assert ("Nothing was noted that fits this" in page.text) is (shown == [])


def test_what_was_recorded_can_be_asked_for_alone(looked_at: Hospital) -> None:
    asked = {"act": "recorded", "record_number": "T000001"}
    page = Page(looked_at.visit(MANAGER).send("/audit", "/audit", **asked).text)

    assert ("recorded: start" in page.text, "looked at a unit" in page.text) == (True, False)


def test_the_pages_of_one_patient_name_the_patient_by_no_number(looked_at: Hospital) -> None:
    with looked_at.store.write() as session:
        for minute in range(PAGE + 1):
            note(
                session, NURSE, AuditAct.VIEWED, Subject(SubjectKind.PATIENT, "p1"),
                now=at(41 + minute), ward_id="w1", patient_id="p1",
            )  # fmt: skip
    manager = looked_at.visit(MANAGER)

    first = Page(manager.send("/audit", "/audit", record_number="T000001").text)
    (older,) = (href for href in first.links if "before=" in href)
    second = manager.see(older)

    assert ("T000001" in older, "patient=p1" in older) == (False, True)
    told = "Of one patient, as was asked for."
    assert (told in second.text, told in manager.see("/audit").text) == (True, False)
    assert "looked at a patient" in second.text


def test_older_rows_follow_by_pages_and_lead_back(looked_at: Hospital) -> None:
    with looked_at.store.write() as session:
        for minute in range(PAGE + 1):
            note(session, NURSE, AuditAct.LOCKED, now=at(41 + minute), ward_id="w1")
    manager = looked_at.visit(MANAGER)

    first = manager.see("/audit?ward=w1&act=locked")
    (older,) = (href for href in first.links if "before=" in href)
    second = manager.see(older)

    assert (
        first.text.count("screen locked Ward 1"),
        second.text.count("screen locked Ward 1"),
    ) == (
        PAGE,
        1,
    )
    assert "/audit?ward=w1&act=locked" in second.links
    assert not any("before=" in href for href in second.links)


def test_changes_of_a_person_are_told_from_what_to_what(hospital: Hospital) -> None:
    draft = replace(staff_draft(NURSE), role=Role.CHARGE_NURSE, wards=frozenset({"w1", "w2"}))
    with hospital.store.write() as session:
        enter_staff(session, ADMINISTRATOR, draft, now=at(1))

    page = hospital.visit(ADMINISTRATOR).see("/audit?act=access_changed")
    elsewhere = hospital.visit(ADMINISTRATOR).see("/audit?act=policy_in_force&ward=w2")

    assert (
        "Ada Admin administrator changed role or wards: Nina Nurse changed: role, wards, "
        "name to sign in with; role: charge nurse (was bedside nurse); "
        "wards: Ward 1, Ward 2 (was Ward 1)"
    ) in page.text
    assert "put a policy in force policy: common; version: " in elsewhere.text


def test_rows_that_somebody_altered_are_shown_as_they_stand(looked_at: Hospital) -> None:
    end = len(links(looked_at.store))
    words = "act = 'stole', subject_kind = 'a', at = 'noon', detail = '[', actor_role = 'king'"
    tamper(looked_at.store, f"UPDATE audit SET {words} WHERE position = :place", place=end)  # noqa: S608
    other = "subject_kind = 'soul', detail = '7'"
    tamper(looked_at.store, f"UPDATE audit SET {other} WHERE position = :place", place=end - 1)  # noqa: S608

    page = looked_at.visit(ADMINISTRATOR).see("/audit")

    assert f"no time row {end} Nina Nurse stole [ Alder, Ida T000001 Ward 1" in page.text


def test_how_the_chain_stands_is_said(hospital: Hospital) -> None:
    manager = hospital.visit(MANAGER)
    never = manager.see("/audit")
    end = len(links(hospital.store))
    keep_checking(hospital.store, now=at(0))
    whole = manager.see("/audit")
    with hospital.store.write() as session:
        note(session, NURSE, AuditAct.LOCKED, now=at(4))
    tamper(hospital.store, "UPDATE audit SET act = 'x' WHERE position = :place", place=end + 1)
    keep_checking(hospital.store, now=at(5))
    broken = hospital.visit(ADMINISTRATOR).see("/audit?act=locked")

    assert "The chain has not been checked yet." in never.text
    assert f"The chain is whole up to row {end}; checked 10:00." in whole.text
    words = f"The chain is broken: row {end + 1} was altered. Checked 10:05;"
    assert f"{words} tell whoever runs the board." in broken.text


@pytest.mark.parametrize(
    ("query", "field"),
    [
        ("person=nobody", "person"),
        ("ward=w2", "ward"),
        ("act=stole", "act"),
        ("from=yesterday", "from"),
        ("to=2026-03-03", "from"),
        ("from=2026-03-03&to=2026-03-01", "to"),
    ],
)
def test_a_wrong_question_is_named_beside_its_field(
    hospital: Hospital, query: str, field: str
) -> None:
    answer = hospital.visit(MANAGER).get(f"/audit?{query}")

    assert answer.status_code == 422
    assert f'id="f-{field}-error"' in answer.text
    assert ("Nothing was looked for" in answer.text, "The chain" in answer.text) == (True, False)
    assert "Alder" not in answer.text


@pytest.mark.parametrize("person", [NURSE, CHARGE, OUTSIDER], ids=lambda person: person.id)
def test_a_nurse_is_refused(looked_at: Hospital, person: Actor) -> None:
    answer = looked_at.visit(person).get("/audit")

    assert (answer.status_code, "Alder" in answer.text) == (403, False)
    assert "may not read the audit trail" in answer.text


def test_every_act_and_every_thing_has_its_words() -> None:
    assert (set(ACT), set(SUBJECT)) == (set(AuditAct), set(SubjectKind))
