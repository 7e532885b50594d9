"""The page of a plan: everybody's work, the units that wait, and who may do what."""

from typing import Any

import pytest

from server.services.actor import Actor
from server.store.plans import PlanWatch, note_watch, plan_in_force, read_plan
from tests.domain.builders import at
from tests.pages.hospital import Hospital
from tests.pages.planned_pages import PAGE, accepted, in_force, planned, version_of
from tests.services.people import CHARGE, MANAGER, NURSE, OUTSIDE_CHARGE, OUTSIDER
from tests.services.planned_ward import fill_ward


def test_without_a_plan_the_work_under_way_is_shown(hospital: Hospital) -> None:
    fill_ward(hospital.charting)
    hospital.clock.now = at(30)
    page = hospital.visit(CHARGE).see(PAGE)

    assert "No plan is in force" in page.text
    assert page.text.count("No start: no plan is made") == 2
    assert "Bed 5 Red cells routine" in page.text
    assert "Nina Nurse" in page.text
    assert {form.key for form in page.forms} >= {"ask", "suppose", "look"}
    assert "accept" not in {form.key for form in page.forms}


def test_an_empty_ward_asks_for_the_duty_of_the_day_whoever_may_enter_it(
    hospital: Hospital,
) -> None:
    nothing = "Nobody is entered as on duty, and no unit waits for its start."
    pages = {actor: hospital.visit(actor).see(PAGE).text for actor in (CHARGE, NURSE)}

    assert all(nothing in text for text in pages.values())
    assert "Enter the duty of the day" in pages[CHARGE]
    assert "Enter the duty of the day" not in pages[NURSE]


def test_a_version_says_when_each_unit_is_called_for_and_by_whom(hospital: Hospital) -> None:
    page = planned(hospital).visit(CHARGE).see(f"{PAGE}?version=a")
    with hospital.store.read() as session:
        plan = read_plan(session, "a")
    assert plan is not None
    start = plan.start_of("waits")
    assert start is not None
    assert start.call_at is not None
    names = {"nurse-1": "Nina Nurse", "nurse-2": "Cleo Colleague"}

    assert "Proposed plan Put together by hand" in page.text
    assert (
        f"Call at {start.call_at:%H:%M} Check {start.check_at:%H:%M}"
        f" Runs from {start.start_at:%H:%M} First check {start.first_check_at:%H:%M}"
        f" In by {start.projected_end_at:%H:%M} Starts it {names[start.nurse_id]}"
        f" Checks {names[start.second_id or '']}"
    ) in page.text
    assert "2 h 27 to spare" in page.text


def test_a_plan_is_accepted_by_its_button_and_the_board_says_so(hospital: Hospital) -> None:
    charge = accepted(hospital)

    assert in_force(hospital) == "a"
    page = charge.see(PAGE)
    assert "Accepted plan: Carl Charge, 10:30" in page.text
    assert "accept" not in {form.key for form in page.forms}
    assert "call at" in charge.see("/wards/w1/board").text
    charge.done(PAGE, "discard")
    assert in_force(hospital) is None


def test_a_plan_that_no_longer_holds_is_mended_or_left(hospital: Hospital) -> None:
    charge = accepted(hospital)
    form = charge.see(f"{PAGE}?unit=waits").form("hand")
    moved = charge.post(
        form.action, {**form.filled({"check_at_time": "12:30"}), "do": "move"}
    ).headers["location"]
    repair = version_of(moved)
    watch = PlanWatch("w1", "a", 1, at(30), None, ("bed 5: ordered since",), repair)
    with hospital.store.write() as session:
        note_watch(session, watch)

    page = charge.see(PAGE)
    assert "The accepted plan no longer holds Bed 5: ordered since" in page.text
    assert "Proposed repair , everything else stays: Bed 5: check" in page.text
    nurse = hospital.visit(NURSE).see(PAGE)
    assert "The accepted plan no longer holds" in nurse.text
    assert "accept-repair" not in {one.key for one in nurse.forms}
    charge.done(PAGE, "leave-repair")
    assert "No repair is proposed." in charge.see(PAGE).text
    assert in_force(hospital) == "a"


def test_the_plan_is_seen_at_another_instant_and_is_not_changed_there(hospital: Hospital) -> None:
    charge = accepted(hospital)

    later = charge.see(f"{PAGE}?look_time=12:00&look_date=2026-03-03")

    assert "As it will stand at 12:00 if nothing more is recorded until then." in later.text
    hospital.clock.now = at(60)
    before = charge.see(f"{PAGE}?at=2026-03-03T10:20:00Z")
    hospital.clock.now = at(30)
    assert "As it stood at 10:20 , by what was known then." in before.text
    assert "No plan is in force" in before.text
    assert {form.key for form in later.forms} & {"ask", "hand", "suppose", "discard"} == set()
    assert charge.see(f"{PAGE}?at=2026-03-03T12:00:00Z").text == later.text
    assert charge.get(f"{PAGE}?look_time=noon").status_code == 422


@pytest.mark.parametrize("person", [NURSE, MANAGER], ids=lambda one: one.id)
def test_others_of_the_ward_look_and_decide_nothing(hospital: Hospital, person: Actor) -> None:
    planned(hospital)
    visit = hospital.visit(person)
    page = visit.see(f"{PAGE}?version=a&unit=waits")
    before = hospital.charting.everything("view", "session")

    keys = {form.key for form in page.forms}
    assert keys & {"accept", "discard", "ask", "suppose", "hand"} == set()
    token = next(form.values["csrf_token"] for form in page.forms if "csrf_token" in form.values)
    tried: dict[str, dict[str, Any]] = {
        "accept": {},
        "discard": {},
        "ask": {"seconds": "2"},
        "suppose": {"seconds": "2", "moves_bed": "5", "moves_at_time": "13:00"},
        "stop": {"run": "r"},
        "change": {"do": "leave_out", "episode_id": "waits"},
    }
    answers = {
        act: visit.post(f"{PAGE}/{act}", {"csrf_token": token, "version": "a", **typed}).status_code
        for act, typed in tried.items()
    }
    assert answers == dict.fromkeys(tried, 403)
    assert hospital.charting.everything("view", "session") == before


@pytest.mark.parametrize("person", [OUTSIDER, OUTSIDE_CHARGE], ids=lambda one: one.id)
def test_somebody_of_another_ward_sees_nothing_of_a_plan(hospital: Hospital, person: Actor) -> None:
    planned(hospital)
    visit = hospital.visit(person)

    for path in (PAGE, f"{PAGE}?version=a", f"{PAGE}/strip", "/wards/w2/plan?version=a"):
        answer = visit.get(path)
        assert answer.status_code in (403, 404)
        assert "Nina Nurse" not in answer.text


def test_the_strip_beside_the_board_is_read_anew_with_a_change_or_a_minute(
    hospital: Hospital,
) -> None:
    charge = planned(hospital).visit(CHARGE)
    before = charge.see(f"{PAGE}/strip").text
    charge.done(f"{PAGE}?version=a", "accept")
    strip = charge.see(f"{PAGE}/strip").text
    watch = PlanWatch("w1", "a", 1, at(30), None, ("bed 5: ordered since",))
    with hospital.store.write() as session:
        note_watch(session, watch)
    kept = hospital.visit(NURSE).see(f"{PAGE}/strip").text
    hospital.clock.now = at(31)
    later = charge.see(f"{PAGE}/strip").text

    assert before.startswith("Plan No plan is in force.")
    assert "bed 5, red cells" in strip
    assert "Nina Nurse: 17 min of work, 2 h 00 there" in strip
    assert (kept, "no longer holds" in later) == (strip, True)
    assert f'data-refill="{PAGE}/strip"' in charge.see("/wards/w1/board").html


def test_a_nurse_finds_own_planned_starts_on_the_list(hospital: Hospital) -> None:
    accepted(hospital)
    with hospital.store.read() as session:
        plan = plan_in_force(session, "w1", at(30))
    assert plan is not None
    start = plan.start_of("waits")
    assert start is not None
    assert start.call_at is not None
    person = {"nurse-1": NURSE}.get(start.nurse_id)
    visit = hospital.visit(person) if person else hospital.visit(CHARGE)
    page = visit.see("/mine" if person else f"/mine?nurse={start.nurse_id}")

    said = f"{start.call_at:%H:%M} call for bed 5, check at {start.check_at:%H:%M} Red cells"
    assert said in page.text
    assert f"{PAGE}#unit-waits" in page.links
