"""The page of a plan: the work of everybody, the units that wait, and what a charge nurse does."""

from collections.abc import Callable
from typing import Any

import pytest

from server.domain.plan.proposal import Progress
from server.services.actor import Actor
from server.services.errors import Conflict
from server.services.plan_runs import Run
from server.store.plans import PlanWatch, note_watch, plan_in_force, read_plan
from tests.domain.builders import at
from tests.pages.hospital import PART, Hospital, Visit
from tests.pages.reading import Page
from tests.services.people import CHARGE, MANAGER, NURSE, OUTSIDE_CHARGE, OUTSIDER
from tests.services.planned_ward import fill_ward, keep_list_plan

PAGE = "/wards/w1/plan"


def planned(hospital: Hospital, plan_id: str = "a") -> Hospital:
    """Two nurses, a unit that runs, two that wait, and a plan of the list rule at 10:30."""
    fill_ward(hospital.charting)
    hospital.clock.now = at(30)
    keep_list_plan(hospital.store, plan_id, at(30))
    return hospital


def accepted(hospital: Hospital) -> Visit:
    """The charge nurse after accepting it."""
    charge = planned(hospital).visit(CHARGE)
    assert charge.done(f"{PAGE}?version=a", "accept") == PAGE
    return charge


def in_force(hospital: Hospital) -> str | None:
    with hospital.store.read() as session:
        plan = plan_in_force(session, "w1", hospital.clock.now)
    return None if plan is None else plan.id


def version_of(href: str) -> str:
    return href.partition("version=")[2].partition("&")[0]


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


def test_an_empty_ward_says_that_nobody_is_on_duty_and_nothing_waits(hospital: Hospital) -> None:
    text = hospital.visit(CHARGE).see(PAGE).text

    assert "Nobody is on duty. Enter the duty of the day first." in text
    assert "No unit waits for its start." in text


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


def test_a_unit_is_moved_given_fixed_and_let_go_by_its_form(hospital: Hospital) -> None:
    charge = accepted(hospital)
    form = charge.see(f"{PAGE}?unit=waits").form("hand")
    assert form.action == f"{PAGE}/change"
    moved = {
        "do": "fix", "check_at_time": "12:30", "nurse_id": "nurse-1", "second_id": "nurse-2"
    }  # fmt: skip

    href = charge.post(form.action, {**form.filled({}), **moved}).headers["location"]
    page = charge.see(href)

    assert "fixed by hand" in page.text
    assert "Check 12:30 Runs from" in page.text
    assert "1 start differs from the accepted plan" in page.text
    assert href.endswith("&unit=waits#unit-waits")
    assert in_force(hospital) == "a"
    assert "Undo: the version before" in page.text
    assert f"{PAGE}?version=a" in page.links
    loose = page.form("hand")
    after = charge.post(loose.action, {**loose.filled({}), "do": "loosen"}).headers["location"]
    assert "fixed by hand" not in charge.see(after).text
    out = charge.see(after).form("hand")
    without = charge.post(out.action, {**out.filled({}), "do": "leave_out"}).headers["location"]
    assert "No start: left out by hand" in charge.see(without).text


def test_a_time_that_is_not_wanted_is_kept_and_taken_away(hospital: Hospital) -> None:
    charge = accepted(hospital)
    form = charge.see(f"{PAGE}?unit=waits").form("hand")
    times = {
        "forbidden_from_time": "11:00", "forbidden_until_time": "11:30",
        "forbidden_from_date": "2026-03-03", "forbidden_until_date": "2026-03-03",
    }  # fmt: skip

    href = charge.post(form.action, {**form.filled(times), "do": "forbid"}).headers["location"]
    page = charge.see(href)
    assert "not 11:00–11:30" in page.text
    free = page.form("hand")
    href = charge.post(free.action, {**free.filled({}), "do": "allow"}).headers["location"]

    assert "not 11:00–11:30" not in charge.see(href).text


@pytest.mark.parametrize(
    ("typed", "field", "why"),
    [
        ({"do": "move", "check_at_time": "25:00"}, "check_at", "expected a time from 00:00"),
        ({"do": "move", "check_at_time": ""}, "check_at", "no time was entered"),
        ({"do": "move", "check_at_time": "09:00"}, "check_at", "lies outside the plan"),
        ({"do": "forbid"}, "forbidden_from", "no time was entered"),
        ({"do": "swap"}, "do", "is none of the choices"),
    ],
)
def test_what_is_wrong_stands_beside_its_field_and_nothing_is_lost(
    hospital: Hospital, typed: dict[str, str], field: str, why: str
) -> None:
    charge = accepted(hospital)
    form = charge.see(f"{PAGE}?unit=waits").form("hand")
    before = hospital.charting.everything("view")

    answer = charge.post(form.action, {**form.filled({}), "nurse_id": "nurse-2", **typed})

    page = Page(answer.text)
    assert answer.status_code == 422
    assert why in (page.errors.get(f"f-{field}", "") or page.text)
    assert page.form("hand").values["nurse_id"] == ["nurse-2"]
    assert page.form("hand").values["check_at_time"] == [
        typed.get("check_at_time", form.values["check_at_time"][0])
    ]
    assert hospital.charting.everything("view") == before


def test_what_a_change_breaks_is_said_before_it_is_accepted(hospital: Hospital) -> None:
    charge = accepted(hospital)
    form = charge.see(f"{PAGE}?unit=waits").form("hand")
    clash = {"do": "move", "check_at_time": "14:00", "nurse_id": "nurse-1", "second_id": "nurse-1"}

    href = charge.post(form.action, {**form.filled({}), **clash}).headers["location"]
    page = charge.see(href)

    assert "the second checker has to be somebody other than the first" in page.text
    assert "Accept, though" in page.text
    assert "Worth: without a start 0" in page.text
    hospital.clock.now = at(31)
    charge.done(f"{PAGE}?version={version_of(href)}", "accept")
    assert in_force(hospital) == version_of(href)


def test_a_change_by_scripts_is_answered_as_the_part_alone(hospital: Hospital) -> None:
    charge = accepted(hospital)
    html = charge.get(f"{PAGE}?unit=waits", **PART).text

    assert "<html" not in html
    assert html.lstrip().startswith('<div id="plan"')


def test_a_proposal_is_awaited_without_scripts_and_is_a_version(hospital: Hospital) -> None:
    charge = accepted(hospital)

    href = charge.done(PAGE, "ask", seconds="2")

    with hospital.store.read() as session:
        plan = read_plan(session, version_of(href))
    assert plan is not None
    assert (plan.parent_id, plan.made_by, plan.accepted_at) == ("a", "charge-1", None)
    assert {one.episode_id for one in plan.proposal.starts} == {"waits", "next"}
    assert "accept" in {form.key for form in charge.see(href).forms}


def in_the_making(hospital: Hospital, run_id: str, make: Callable[[Run], str]) -> Run:
    run = Run(run_id, "w1", "charge-1", 2.0, at(30))
    hospital.app.state.plan_runs.begin(run, make)
    return run


def until_stopped(run: Run) -> str:
    assert run.stopping.wait(20)
    return "a"


def test_a_proposal_is_watched_with_scripts_stopped_and_gone_on_to(hospital: Hospital) -> None:
    charge = accepted(hospital)
    form = charge.see(PAGE).form("ask")
    run = in_the_making(hospital, "watched", until_stopped)
    run.tell(Progress("urgent_late", 90, 30, 1.2))
    hospital.clock.now = at(30.025)

    page = charge.see(PAGE)
    refused = charge.post(form.action, form.filled({"seconds": "2"}), **PART)

    said = "1.5 of at most 2 s 1.5 s Best so far urgent and late 1 h 30"
    assert f"{said} No plan can beat urgent and late 30 min" in page.text
    assert "ask" not in {one.key for one in page.forms}
    assert (refused.status_code, refused.headers["hx-retarget"]) == (409, "#plan")
    assert "a plan of this ward is being made" in refused.text
    stop = page.form("stop").filled({})
    assert charge.post(f"{PAGE}/stop", stop, **PART).status_code == 200
    assert run.made.result(timeout=20) == "a"
    done = charge.get(f"{PAGE}/run?run=watched", **PART)
    assert done.headers["hx-redirect"] == f"{PAGE}?version=a"
    assert charge.post(f"{PAGE}/stop", stop).headers["location"] == PAGE
    assert charge.get(f"{PAGE}/run?run=none", **PART).status_code == 404
    assert hospital.visit(NURSE).get(f"{PAGE}/run?run=watched", **PART).status_code == 403


def test_a_proposal_by_scripts_is_begun_and_made(hospital: Hospital) -> None:
    charge = accepted(hospital)
    form = charge.see(PAGE).form("ask")

    begun = charge.post(form.action, form.filled({"seconds": "2"}), **PART)

    run_id = begun.text.partition("run?run=")[2].partition('"')[0]
    href = begun.headers.get("hx-redirect", "")
    if run_id:
        run = hospital.app.state.plan_runs.look(run_id, "w1")
        href = f"{PAGE}?version={run.made.result(timeout=20)}"
    assert "Proposed plan" in charge.see(href).text


def test_a_proposal_that_fails_says_why_and_a_fault_is_a_fault(hospital: Hospital) -> None:
    def refused(_: Run) -> str:
        raise Conflict("the ward has no policy")

    def broken(_: Run) -> str:
        raise RuntimeError("not foreseen")

    charge = accepted(hospital)
    in_the_making(hospital, "refused", refused).made.exception(timeout=20)
    in_the_making(hospital, "broken", broken).made.exception(timeout=20)

    said = charge.get(f"{PAGE}/run?run=refused", **PART)
    fault = charge.get(f"{PAGE}/run?run=broken", **PART)

    assert (said.status_code, "the ward has no policy" in said.text) == (200, True)
    assert (fault.status_code, "not foreseen" in fault.text) == (500, False)


def test_what_if_is_a_supposed_version_that_cannot_be_accepted(hospital: Hospital) -> None:
    charge = accepted(hospital)
    supposed = {
        "leaves_id": "nurse-2", "leaves_at_time": "14:00",
        "more_bed": "7", "more_count": "2", "more_component": "platelets",
        "moves_bed": "5", "moves_at_time": "13:00",
    }  # fmt: skip

    href = charge.done(PAGE, "suppose", **supposed)
    page = charge.see(href)

    assert "Supposed, nothing is recorded." in page.text
    assert "Cleo Colleague leaves at 14:00" in page.text
    assert "2 units more for bed 7: platelets, routine, from 10:30" in page.text
    assert "Bed 5 moves away at 13:00" in page.text
    assert "Bed 7 Platelets, unit 1 of 2" in page.text
    assert "accept" not in {form.key for form in page.forms}
    again = charge.done(href, "ask", seconds="2")
    assert "Supposed, nothing is recorded." in charge.see(again).text
    token = page.form("ask").values["csrf_token"]
    forced = charge.post(f"{PAGE}/accept", {"csrf_token": token, "version": version_of(href)})
    assert (forced.status_code, in_force(hospital)) == (409, "a")


@pytest.mark.parametrize(
    ("typed", "why"),
    [
        ({}, "nothing is supposed"),
        ({"leaves_id": "nurse-2"}, "no time was entered"),
        ({"moves_bed": "5", "moves_at_time": "99"}, "expected a time"),
        ({"more_bed": "7", "more_count": "11"}, "is 11; expected from 1 to 10"),
        ({"more_bed": "7", "more_volume_ml": "0"}, "is 0; expected up to 1000 mL"),
    ],
)
def test_a_supposition_that_makes_no_sense_is_refused_by_its_field(
    hospital: Hospital, typed: dict[str, str | list[str]], why: str
) -> None:
    answer = accepted(hospital).send(PAGE, "suppose", **typed)

    assert answer.status_code == 422
    assert why in answer.text
    assert "<details" in answer.text.partition("what-if")[0][-60:]
    assert Page(answer.text).form("suppose").values["more_bed"] == [typed.get("more_bed", "")]


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

    assert "As it stands at 12:00 , by what is known of that instant." in later.text
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
