"""Cover on its page and above the board: who covers whom until when, and where nobody is there."""

import pytest

from server.domain.cover import Cover
from server.services.actor import Actor
from server.services.cover import CoverDraft, cover
from server.services.enter_shift import ShiftDraft, enter_shift
from server.store.covers import covers_between
from server.store.shifts import Break
from tests.domain.builders import at
from tests.pages.hospital import Hospital
from tests.services.people import ADMINISTRATOR, CHARGE, COLLEAGUE, MANAGER, NURSE

PAGE = "/wards/w1/cover"


def covers(hospital: Hospital) -> list[tuple[str, str, int, int]]:
    """Who covers whom, from and until which minute."""
    with hospital.store.read() as session:
        found = covers_between(session, ["w1"], at(-600), at(1440))
    base = at(0)
    return sorted(
        (
            one.covering_id,
            one.covered_id,
            int((one.from_at - base).total_seconds()) // 60,
            int((one.over_at - base).total_seconds()) // 60,
        )
        for one in found
    )


def on_break(hospital: Hospital, *breaks: Break) -> None:
    with hospital.store.write() as session:
        enter_shift(
            session, CHARGE, ShiftDraft("nurse-1", "w1", at(-240), at(480), breaks), now=at(-240)
        )


def entered(hospital: Hospital, start: float = 0, end: float = 30) -> Cover:
    with hospital.store.write() as session:
        draft = CoverDraft("w1", "nurse-2", "nurse-1", at(start), at(end))
        return cover(session, CHARGE, draft, now=hospital.clock.now)


def test_a_nurse_is_covered_for_the_next_break_by_choosing_a_colleague(hospital: Hospital) -> None:
    on_break(hospital, Break(at(60), at(80)))
    nurse = hospital.visit(NURSE)

    assert nurse.see(PAGE).form("cover").values["covered_id"] == ["nurse-1"]
    leads_to = nurse.done(PAGE, "cover", covering_id="nurse-2")

    assert (leads_to, covers(hospital)) == (PAGE, [("nurse-2", "nurse-1", 60, 80)])
    assert (
        "Cleo Colleague covers for Nina Nurse from 11:00 until 11:20 to come"
        in nurse.see(PAGE).text
    )


def test_a_cover_is_entered_with_the_times_of_the_ward(hospital: Hospital) -> None:
    charge = hospital.visit(CHARGE)

    charge.done(
        PAGE, "cover", covered_id="nurse-1", covering_id="nurse-2",
        from_at_time="10:10", until_at_time="10:40",
    )  # fmt: skip

    assert covers(hospital) == [("nurse-2", "nurse-1", 10, 40)]


def test_the_same_form_twice_enters_one_cover(hospital: Hospital) -> None:
    nurse = hospital.visit(NURSE)
    form = nurse.see(PAGE).form("cover")
    typed = form.filled({"covering_id": "nurse-2", "until_at_time": "10:30"})

    answers = [nurse.post(form.action, typed) for _ in range(2)]

    assert [one.status_code for one in answers] == [303, 303]
    assert covers(hospital) == [("nurse-2", "nurse-1", 0, 30)]


def test_the_same_key_with_other_values_is_no_answer_to_them(hospital: Hospital) -> None:
    nurse = hospital.visit(NURSE)
    form = nurse.see(PAGE).form("cover")
    nurse.post(form.action, form.filled({"covering_id": "nurse-2", "until_at_time": "10:30"}))

    answer = nurse.post(
        form.action, form.filled({"covering_id": "charge-1", "until_at_time": "10:40"})
    )

    assert answer.status_code == 409
    assert "What you sent before was stored, as it was then." in answer.text
    assert covers(hospital) == [("nurse-2", "nurse-1", 0, 30)]


@pytest.mark.parametrize("key", ["", "x" * 65])
def test_a_form_without_a_key_is_done_each_time(hospital: Hospital, key: str) -> None:
    nurse = hospital.visit(NURSE)
    form = nurse.see(PAGE).form("cover")
    for until in ("10:30", "10:45"):
        typed = {"covering_id": "nurse-2", "until_at_time": until, "replace": "true"}
        nurse.post(form.action, {**form.filled({**typed}), "once": [key]})

    assert covers(hospital) == [("nurse-2", "nurse-1", 0, 0), ("nurse-2", "nurse-1", 0, 45)]


def test_what_is_wrong_stands_beside_its_field_with_what_was_typed(hospital: Hospital) -> None:
    nurse = hospital.visit(NURSE)

    answer = nurse.send(PAGE, "cover", covering_id="nurse-1", until_at_time="10:30")

    assert answer.status_code == 422
    assert "is the nurse who is to be covered; expected a colleague" in answer.text
    assert 'value="10:30"' in answer.text


def test_without_a_break_on_the_plan_it_asks_until_when(hospital: Hospital) -> None:
    answer = hospital.visit(NURSE).send(PAGE, "cover", covering_id="nurse-2")

    assert "is missing, and no break is planned; expected until when" in answer.text


def test_a_second_cover_is_refused_and_can_be_put_in_place_of_the_first(
    hospital: Hospital,
) -> None:
    entered(hospital)
    nurse = hospital.visit(NURSE)
    typed = {"covering_id": "charge-1", "until_at_time": "10:20"}

    refused = nurse.send(PAGE, "cover", **typed)
    hospital.clock.now = at(10)
    nurse.done(PAGE, "cover", replace="true", **typed)

    assert refused.status_code == 409
    assert "is covered already: by Cleo Colleague from 10:00 until 10:30" in refused.text
    assert covers(hospital) == [("charge-1", "nurse-1", 10, 20), ("nurse-2", "nurse-1", 0, 10)]


@pytest.mark.parametrize("person", [NURSE, COLLEAGUE, CHARGE], ids=lambda one: one.id)
def test_a_cover_is_ended_with_one_touch(hospital: Hospital, person: Actor) -> None:
    made = entered(hospital)
    hospital.clock.now = at(12)

    hospital.visit(person).done(PAGE, f"end-{made.id}")

    assert covers(hospital) == [("nurse-2", "nurse-1", 0, 12)]
    assert "Nobody covers for anybody now" in hospital.visit(person).see(PAGE).text


def test_a_cover_between_two_others_has_no_button_for_a_nurse(hospital: Hospital) -> None:
    with hospital.store.write() as session:
        draft = CoverDraft("w1", "charge-1", "nurse-2", at(0), at(30))
        made = cover(session, CHARGE, draft, now=at(0))
    nurse = hospital.visit(NURSE)

    assert f"end-{made.id}" not in [form.key for form in nurse.see(PAGE).forms]
    token = nurse.see(PAGE).form("cover").values["csrf_token"]
    assert nurse.post(f"{PAGE}/{made.id}/end", {"csrf_token": token}).status_code == 403
    assert covers(hospital) == [("charge-1", "nurse-2", 0, 30)]


@pytest.mark.parametrize("person", [MANAGER, ADMINISTRATOR], ids=lambda one: one.id)
def test_others_look_and_arrange_nothing(hospital: Hospital, person: Actor) -> None:
    made = entered(hospital)
    visit = hospital.visit(person)

    page = visit.see(PAGE)

    assert "Cleo Colleague covers for Nina Nurse from 10:00 until 10:30 now" in page.text
    assert [form.key for form in page.forms] == [""]
    token = page.forms[0].values["csrf_token"]
    for href in (PAGE, f"{PAGE}/{made.id}/end"):
        sent = {"csrf_token": token, "covered_id": "nurse-1", "covering_id": "nurse-2"}
        assert visit.post(href, sent | {"until_at_time": "11:00"}).status_code in (403, 409)
    assert covers(hospital) == [("nurse-2", "nurse-1", 0, 30)]


def test_the_charge_nurse_sees_cover_and_gaps_beside_the_board(hospital: Hospital) -> None:
    on_break(hospital, Break(at(20), at(40)))
    hospital.charting.run(nurse_id="nurse-1")
    charge = hospital.visit(CHARGE)
    said = []
    for minute, act in ((19, None), (20, None), (21, entered)):
        hospital.clock.now = at(minute)
        if act:
            act(hospital, 21, 40)
        said.append(charge.see(f"{PAGE}/strip").text)

    assert said == [
        "Cover nobody with units is on a break",
        "Cover !! Nina Nurse is on a break until 10:40, and nobody covers",
        "Cover Cleo Colleague covers Nina Nurse until 10:40",
    ]
    assert f'data-refill="{PAGE}/strip"' in charge.see("/wards/w1/board").html


def test_a_gap_behind_a_cover_names_both(hospital: Hospital) -> None:
    hospital.charting.run(nurse_id="nurse-1")
    entered(hospital, 0, 60)
    with hospital.store.write() as session:
        pause = (Break(at(20), at(40)),)
        enter_shift(
            session, CHARGE, ShiftDraft("nurse-2", "w1", at(-240), at(480), pause), now=at(-240)
        )
    hospital.clock.now = at(25)

    said = "Cleo Colleague, who covers for Nina Nurse, is on a break until 10:40"
    assert said in hospital.visit(CHARGE).see(PAGE).text


@pytest.mark.parametrize("person", [MANAGER, ADMINISTRATOR], ids=lambda one: one.id)
def test_others_have_no_part_beside_the_board(hospital: Hospital, person: Actor) -> None:
    assert "data-refill" not in hospital.visit(person).see("/wards/w1/board").html


@pytest.mark.parametrize("person", [CHARGE, NURSE, COLLEAGUE], ids=lambda one: one.id)
def test_the_form_names_for_whom_nobody_is_there(hospital: Hospital, person: Actor) -> None:
    visit = hospital.visit(person)
    own = visit.see(PAGE).form("cover").values["covered_id"]
    on_break(hospital, Break(at(-5), at(20)))
    hospital.charting.run(nurse_id="nurse-1", now=at(-60))

    named = visit.see(PAGE).form("cover").values["covered_id"]

    assert (own, named) == ([person.id], ["nurse-1"])
