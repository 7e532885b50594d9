"""My list as a page without scripts: what is due when, one touch to act, one to have it."""

import re

from server.domain.payloads import (
    Acknowledged,
    Observed,
    ReactionSuspected,
)
from server.domain.words import ClockName
from server.services.cover import CoverDraft, cover
from tests.domain.builders import at
from tests.pages.hospital import Hospital, Visit
from tests.pages.my_units import busy
from tests.services.people import CHARGE, COLLEAGUE, MANAGER, NURSE, OUTSIDER


def covered(hospital: Hospital) -> None:
    with hospital.store.write() as session:
        draft = CoverDraft("w1", "nurse-2", "nurse-1", at(27), at(50))
        cover(session, CHARGE, draft, now=hospital.clock.now)


def texts(visit: Visit, path: str = "/mine") -> str:
    return visit.see(path).text


def test_tasks_stand_by_time_under_now_the_hour_and_later(hospital: Hospital) -> None:
    page = busy(hospital).visit(NURSE).see("/mine")

    places = [page.text.index(words) for words in (
        "Now 2",
        "Needs 75 to 300 mL/h !! at risk Alder, Ida Red cells 14:00 limit in 3 h 33",
        "First check: observations !! due Alder, Ida Red cells 10:25 2 min ago",
        "Within the hour",
        "Later",
        "End the unit Alder, Ida Red cells 14:00",
        "My units 2",
    )]  # fmt: skip
    assert places == sorted(places)
    assert "<title>(1) My list · Ward 1</title>" in page.html
    assert "Birch, Bo Red cells Waiting, nothing due" in page.text


def test_a_task_leads_to_the_form_that_does_it(hospital: Hospital) -> None:
    page = busy(hospital).visit(NURSE).see("/mine")

    tasks = {href: text for href, text in page.links.items() if "do=" in href}
    observe = "/episodes/e1?step=first&do=observed#step-first"
    assert "First check: observations" in tasks[observe]
    assert "End the unit" in tasks["/episodes/e1?step=end&do=completed#step-end"]
    opened = hospital.visit(NURSE).see(observe.partition("#")[0])
    assert "fold-first" in opened.opened_details
    assert opened.form("first-observed").action == "/episodes/e1/events"


def test_before_a_start_the_baseline_is_asked_for_until_it_is_there(hospital: Hospital) -> None:
    hospital.charting.open(nurse_id="nurse-1")
    hospital.charting.issue()
    hospital.clock.now = at(5)
    nurse = hospital.visit(NURSE)

    before = texts(nurse)
    hospital.charting.observe(5, observed=Observed(temperature_c=36.8))
    partial = texts(nurse)
    hospital.charting.observe(6)
    hospital.clock.now = at(7)
    after = texts(nurse)

    said = ["Baseline observations" in text for text in (before, partial, after)]
    assert said == [True, True, False]
    assert "Start, or send back" in after
    assert "Within the hour" in before


def test_one_act_that_meets_two_clocks_is_one_task(hospital: Hospital) -> None:
    hospital.charting.open(nurse_id="nurse-1")
    hospital.charting.issue()
    hospital.charting.observe(1)
    hospital.clock.now = at(31)
    nurse = hospital.visit(NURSE)

    assert texts(nurse).count("Start, or send back") == 2  # the words, and the button's own name
    assert nurse.see("/mine").html.count('name="clock"') == 2
    nurse.done("/mine", "have-e1-started-start-return", clock=["start", "return"])

    said = [one.payload for one in hospital.charting.episode(at(32)).events]
    kept = [one for one in said if isinstance(one, Acknowledged)]
    assert kept == [Acknowledged(clock, "nurse-1") for clock in (ClockName.START, ClockName.RETURN)]
    assert "✓ Nina Nurse has it" in texts(nurse)


def test_a_suspected_reaction_and_a_risk_come_first_with_their_own_pages(
    hospital: Hospital,
) -> None:
    charting = busy(hospital).charting
    charting.record(26, ReactionSuspected(("fever",)))
    charting.run("e3", "p2", bed="7", nurse_id="nurse-1")
    charting.observe(25, "p2")
    hospital.clock.now = at(27)

    page = hospital.visit(NURSE).see("/mine")

    places = [page.text.index(words) for words in (
        "Now 3",
        "Follow the reaction pathway !!! reaction Alder, Ida Red cells 10:26 1 min ago",
        "Needs 75 to 300 mL/h !! at risk Birch, Bo Red cells 14:00 limit in 3 h 33",
        "!! due Alder, Ida",
    )]  # fmt: skip
    assert places == sorted(places)
    assert "/episodes/e1/reaction" in page.links
    assert "/episodes/e3?step=running&do=rate_set#step-running" in page.links


def test_one_set_of_observations_is_one_task_however_many_checks_it_meets(
    hospital: Hospital,
) -> None:
    page = busy(hospital, 90).visit(NURSE).see("/mine")

    assert (
        "First check: observations !!! overdue Alder, Ida Red cells 10:25 1 h 05 late" in page.text
    )
    assert len([href for href in page.links if "do=observed" in href]) == 1
    assert page.form("have-e1-observed-first_check-running_check").values["clock"] == [
        "running_check"
    ]


def test_i_have_it_is_one_touch_and_takes_it_off_the_count(hospital: Hospital) -> None:
    nurse = busy(hospital).visit(NURSE)

    leads_to = nurse.done("/mine", "have-e1-observed-first_check")

    event = hospital.charting.episode(at(28)).events[-1]
    assert (leads_to, event.payload) == ("/mine", Acknowledged(ClockName.FIRST_CHECK, "nurse-1"))
    after = nurse.see("/mine")
    assert "<title>My list · Ward 1</title>" in after.html
    assert "✓ Nina Nurse has it" in after.text
    assert "data-owed" not in after.html


def test_a_second_touch_of_the_same_button_stores_nothing(hospital: Hospital) -> None:
    nurse = busy(hospital).visit(NURSE)
    form = nurse.see("/mine").form("have-e1-observed-first_check")

    answers = [nurse.post(form.action, form.filled({})) for _ in range(2)]

    said = [one.payload for one in hospital.charting.episode(at(28)).events]
    assert [answer.status_code for answer in answers] == [303, 303]
    assert said.count(Acknowledged(ClockName.FIRST_CHECK, "nurse-1")) == 1


def test_what_is_no_clock_is_refused_on_the_page(hospital: Hospital) -> None:
    nurse = busy(hospital).visit(NURSE)
    form = nurse.see("/mine").form("have-e1-observed-first_check")

    answer = nurse.post(form.action, form.filled({"clock": "tea"}))

    assert answer.status_code == 422
    assert "is none of the clocks" in answer.text


def test_a_manager_has_nothing(hospital: Hospital) -> None:
    form = busy(hospital).visit(NURSE).see("/mine").form("have-e1-observed-first_check")
    manager = hospital.visit(MANAGER)
    token = manager.see("/wards/w1/board").form("/sign-out").values["csrf_token"]
    before = hospital.charting.everything("session")

    answer = manager.post("/mine/have", form.filled({}) | {"csrf_token": token})

    assert answer.status_code == 403
    assert hospital.charting.everything("session") == before


def test_the_part_alone_is_the_list_alone(hospital: Hospital) -> None:
    answer = busy(hospital).visit(NURSE).get("/mine", **{"HX-Request-Type": "partial"})

    assert answer.text.lstrip().startswith('<div id="mine"')
    assert "<html" not in answer.text


def test_an_empty_list_says_so(hospital: Hospital) -> None:
    said = texts(hospital.visit(NURSE))

    assert "Nothing is owed" in said
    assert "No unit is with you." in said


def test_units_that_ask_for_nothing_are_an_empty_list_with_units(hospital: Hospital) -> None:
    hospital.charting.open(nurse_id="nurse-1")

    said = texts(hospital.visit(NURSE))

    assert "No unit of yours asks for anything." in said
    assert "Waiting, nothing due" in said


def test_the_charge_nurse_looks_at_the_list_of_any_nurse(hospital: Hospital) -> None:
    charge = busy(hospital).visit(CHARGE)

    own, theirs = charge.see("/mine"), charge.see("/mine?nurse=nurse-1")

    assert own.form("whose").options["nurse"] == ["charge-1", "nurse-2", "nurse-1"]
    assert theirs.form("whose").values["nurse"] == ["nurse-1"]
    assert "Nina Nurse 2 now, 1 within the hour" in theirs.text
    charge.done("/mine?nurse=nurse-1", "have-e1-observed-first_check")
    assert hospital.charting.episode(at(28)).events[-1].staff_id == "charge-1"


def test_while_covered_the_colleague_is_reminded_and_the_nurse_is_not(hospital: Hospital) -> None:
    busy(hospital)
    covered(hospital)

    own, colleague = (hospital.visit(one).see("/mine") for one in (NURSE, COLLEAGUE))

    assert "Cleo Colleague covers until 10:50" in own.text
    assert "data-owed" not in own.html
    assert "Covering for Nina Nurse until 10:50" in colleague.text
    assert "covering for Nina Nurse" in colleague.text
    assert 'data-owed="e1:first_check:1:due:0:2026-03-03T10:25:00Z"' in colleague.html


def test_a_cover_to_come_says_from_when(hospital: Hospital) -> None:
    busy(hospital)
    with hospital.store.write() as session:
        draft = CoverDraft("w1", "nurse-2", "nurse-1", at(60), at(90))
        cover(session, CHARGE, draft, now=hospital.clock.now)

    assert "Cleo Colleague covers from 11:00 until 11:30" in texts(hospital.visit(NURSE))


def test_what_reminds_is_a_part_for_other_pages(hospital: Hospital) -> None:
    nurse = busy(hospital).visit(NURSE)

    page = nurse.see("/mine/due?back=/wards/w1/board")

    assert "1 on my list calls for me" in page.text
    assert "Bed 4 First check: observations !! due 2 min ago I have it" in page.text
    assert nurse.done("/mine/due?back=/wards/w1/board", "/mine/have") == "/wards/w1/board"
    assert "calls for me" not in texts(nurse, "/mine/due")


def test_a_repeat_reminds_anew_until_somebody_has_it(hospital: Hospital) -> None:
    nurse = busy(hospital, 31).visit(NURSE)
    keys = []
    for minute in (31, 34, 35):
        hospital.clock.now = at(minute)
        keys.append(nurse.see("/mine/due").html.partition('data-owed="')[2].partition('"')[0])

    assert [key.split(":")[3:5] for key in keys] == [
        ["overdue", "0"],
        ["overdue", "0"],
        ["overdue", "1"],
    ]


def test_a_new_reminder_is_announced_by_priority_and_bed_and_names_nobody(
    hospital: Hospital,
) -> None:
    page = busy(hospital, 33).visit(NURSE).see("/mine/due")

    assert 'data-said="High priority: bed 4, first check overdue, 8 min late"' in page.html
    assert 'data-title="High priority: bed 4" data-body="First check overdue, 10:25"' in page.html
    assert 'data-href="/episodes/e1?step=first&amp;do=observed#step-first"' in page.html
    (tag,) = re.findall(r'data-tag="(\w+)"', page.html)
    assert (len(tag), "e1" in tag) == (24, False)
    said = re.findall(r'data-(?:said|title|body|tag)="([^"]*)"', page.html)
    assert not [one for one in said if "Alder" in one]


def test_what_is_escalated_stands_on_the_list_of_the_charge_nurse_with_who_has_it(
    hospital: Hospital,
) -> None:
    busy(hospital, 36)
    hospital.charting.tick_each(60, 20, 36)
    charge = hospital.visit(CHARGE)

    page = charge.see("/mine/due?back=/wards/w1/board")
    listed = charge.see("/mine")

    whose = "escalated to you, Nina Nurse has the unit"
    assert f"Bed 4 First check: observations !!! overdue 11 min late {whose} I have it" in page.text
    assert 'first check overdue, 11 min late, escalated to you"' in page.html
    assert whose in listed.text
    assert "data-owed" not in charge.see("/mine?nurse=nurse-1").html
    assert charge.done("/mine/due?back=/wards/w1/board", "/mine/have") == "/wards/w1/board"
    assert "calls for me" not in texts(charge, "/mine/due")
    assert "✓ Carl Charge has it" in texts(hospital.visit(NURSE))


def test_the_changes_of_a_ward_are_for_who_may_read_it(hospital: Hospital) -> None:
    page = hospital.visit(NURSE).see("/mine")

    assert 'data-changes="/wards/w1/changes"' in page.html
    assert hospital.visit(OUTSIDER).get("/wards/w1/changes").status_code == 403
    assert hospital.visit(NURSE).get("/wards/none/changes").status_code == 404
