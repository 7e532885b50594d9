"""My list as a page without scripts: what is due when, one touch to act, one to have it."""

from server.domain.payloads import (
    Acknowledged,
    Assigned,
    Observed,
    ReactionSuspected,
    SetHung,
)
from server.domain.words import ClockName
from server.services.cover import CoverDraft, cover
from server.services.enter_shift import ShiftDraft, enter_shift
from server.store.shifts import Break
from tests.domain.builders import FULL, at
from tests.pages.hospital import Hospital, Visit
from tests.services.people import CHARGE, COLLEAGUE, MANAGER, NURSE


def busy(hospital: Hospital, minute: float = 27) -> Hospital:
    """The nurse has `e1` running with its first check due at 25 min, and waits for `e2`."""
    charting = hospital.charting
    charting.run(nurse_id="nurse-1")
    charting.open("e2", "p2", bed="12", nurse_id="nurse-1")
    hospital.clock.now = at(minute)
    return hospital


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


def test_a_unit_is_handed_over_from_its_row(hospital: Hospital) -> None:
    with busy(hospital).store.write() as session:
        shift = ShiftDraft("nurse-2", "w1", at(-60), at(400), (Break(at(20), at(40)),))
        enter_shift(session, CHARGE, shift)
    nurse = hospital.visit(NURSE)

    page = nurse.see("/mine/units/e1")

    assert page.form("hand-over").options["to"] == ["nurse-2", "charge-1"]
    assert "Cleo Colleague, on a break until 10:40" in page.text
    assert "Carl Charge, not on the plan now" in page.text
    assert nurse.done("/mine/units/e1", "hand-over", to="nurse-2") == "/mine"
    assert hospital.charting.episode(at(28)).events[-1].payload == Assigned("nurse-2")
    said = nurse.see("/episodes/e1").text
    assert "Assigned , handed over to Cleo Colleague" in said.replace("Assigned,", "Assigned ,")


def test_everything_of_a_patient_is_handed_over(hospital: Hospital) -> None:
    busy(hospital).charting.open("e3", nurse_id="nurse-1")
    nurse = hospital.visit(NURSE)

    nurse.done("/mine/units/e1", "hand-over", to="nurse-2", what="patient")

    units = ("e1", "e2", "e3")
    assert [hospital.charting.state(one).nurse_id for one in units] == [
        "nurse-2",
        "nurse-1",
        "nurse-2",
    ]


def test_a_hand_over_to_nobody_is_refused_and_keeps_what_was_chosen(hospital: Hospital) -> None:
    nurse = busy(hospital).visit(NURSE)

    answer = nurse.send("/mine/units/e1", "hand-over", what="patient")

    assert answer.status_code == 422
    assert "nothing was entered; this is needed" in answer.text
    assert 'value="patient" checked' in answer.text


def test_a_colleague_s_unit_is_taken_over_from_the_list_of_all(hospital: Hospital) -> None:
    colleague = busy(hospital).visit(COLLEAGUE)

    page = colleague.see("/mine/take-over")
    (form,) = [
        one for one in page.forms
        if one.action == "/mine/units/e1/take-over" and one.values["what"] == ["unit"]
    ]  # fmt: skip
    answers = [colleague.post(form.action, form.filled({})) for _ in range(2)]

    assert [one.headers["location"] for one in answers] == ["/mine", "/mine"]
    events = hospital.charting.episode(at(28)).events
    assert [one.payload for one in events].count(Assigned("nurse-2")) == 1
    assert "taken over by Cleo Colleague" in colleague.see("/episodes/e1").text
    assert "/episodes/e1" not in colleague.see("/mine/take-over").links


def test_who_was_slower_is_told_who_has_the_unit(hospital: Hospital) -> None:
    colleague = busy(hospital).visit(COLLEAGUE)
    form = colleague.see("/mine/units/e1").form("take-unit")
    hospital.charting.record(27, Assigned("charge-1"), actor=CHARGE)

    answer = colleague.post(form.action, form.filled({}))

    assert answer.status_code == 409
    assert "Carl Charge has this unit meanwhile; look at it again" in answer.text


def test_a_nurse_sees_that_a_colleague_s_unit_is_not_theirs_to_hand_over(
    hospital: Hospital,
) -> None:
    page = busy(hospital).visit(COLLEAGUE).see("/mine/units/e1")

    assert [form.key for form in page.forms][-2:] == ["take-unit", "take-patient"]
    assert "Nina Nurse has it." in page.text


def test_without_units_of_colleagues_the_list_says_so(hospital: Hospital) -> None:
    assert "No units of colleagues" in texts(busy(hospital).visit(NURSE), "/mine/take-over")


def test_a_set_that_a_colleague_recorded_meanwhile_is_seen_first(hospital: Hospital) -> None:
    nurse = busy(hospital).visit(NURSE)
    form = nurse.see("/episodes/e1").form("first-observed")
    typed = form.filled({
        "temperature_c": "36.8", "pulse_per_min": "80", "respirations_per_min": "16",
        "systolic_mmhg": "120", "diastolic_mmhg": "70",
    })  # fmt: skip
    hospital.charting.observe(27, observed=FULL, actor=COLLEAGUE)

    first = nurse.post(form.action, typed)
    again = nurse.post(form.action, {**typed, "seen": ["99"], "once": ["another"]})

    assert (first.status_code, again.status_code) == (409, 303)
    assert "Cleo Colleague recorded the same for 10:27" in first.text
    assert "Nothing of yours was stored; what you typed is kept." in first.text
    assert 'value="80"' in first.text
    assert len(hospital.charting.episode(at(28)).observations) == 3


def test_one_s_own_set_does_not_stand_in_the_way(hospital: Hospital) -> None:
    nurse = busy(hospital).visit(NURSE)
    form = nurse.see("/episodes/e1").form("first-observed")
    hospital.charting.observe(27, actor=NURSE)
    hospital.charting.record(27, SetHung(), actor=COLLEAGUE)

    answer = nurse.post(form.action, form.filled({"temperature_c": "36.8"}))

    assert answer.status_code == 303
