"""The page on which a whole day of a ward is entered, read and copied, and its learnt minutes."""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from server.domain.workload.capacity import (
    Collector,
    Duty,
    NightRule,
    WallWindow,
    WardLimits,
)
from server.domain.workload.period import Period
from server.pages.days.day_draft import read_typed_day
from server.pages.days.day_fields import day_values
from server.pages.forms.entry import Entry
from server.services.actor import Actor
from server.services.enter_day import DayDraft, PersonDay, enter_day
from server.services.enter_shift import ShiftDraft, enter_shift
from server.services.read_day import Day, read_day
from server.store.shifts import Break, Shift
from server.store.training import ShiftWork, Training
from server.store.ward_limits import save_limits
from tests.domain.builders import at
from tests.pages.hospital import Hospital, Visit
from tests.pages.reading import Page
from tests.services.people import (
    ADMINISTRATOR,
    CHARGE,
    MANAGER,
    NURSE,
    OUTSIDE_CHARGE,
    OUTSIDER,
)
from tests.services.test_read_learnt import chart as chart_three

DAY = "/wards/w1/plan/day"
TODAY = date(2026, 3, 3)  # of the base instant, 10:00 in London
SHIFT = Shift("s1", "nurse-1", "w1", at(-180), at(570), (Break(at(120), at(150)),))
WORK = ShiftWork(frozenset({"12", "4", "5"}), (Duty(Period(at(60), at(90)), "round"),))


def _day(hospital: Hospital, day: date = TODAY) -> Day:
    with hospital.store.read() as session:
        return read_day(session, CHARGE, "w1", day, now=hospital.clock.now)


def _enter(hospital: Hospital) -> None:
    """Nina is on from seven to half past seven in the evening, with a break and a round."""
    shift = ShiftDraft("nurse-1", "w1", SHIFT.starts_at, SHIFT.ends_at, SHIFT.breaks, "s1")
    people = (PersonDay(shift, WORK, Training(skills=frozenset({"child"}))),)
    with hospital.store.write() as session:
        enter_day(session, CHARGE, DayDraft("w1", people), now=at(-180))


def _typed(page: Page, name: str) -> list[str]:
    return page.form("day").values[name]


def test_a_day_is_entered_in_one_form(hospital: Hospital) -> None:
    visit = hospital.visit(CHARGE)

    led = visit.done(
        DAY,
        "day",
        p0_on="true",
        p0_from="1900",
        p0_until="7.30",
        p0_break_1_from="23:50",
        p0_break_1_until="00:20",
        p0_beds="4 5 6; Bay 2",
        p0_duty_2_name="round",
        p0_duty_2_from="01:00",
        p0_duty_2_until="01:30",
        p0_trained="second",
        p0_skills="child, port",
        handover_2_from="19:00",
        handover_2_until="19:30",
        most_starts="2",
        porters="1",
        issues_per_quarter="3",
        collected_by="nurse",
        night_rule="refused",
    )

    (shift,) = _day(hospital).shifts
    day = _day(hospital)
    assert led == f"{DAY}?day=2026-03-03&done=recorded"
    assert "The day is recorded." in visit.see(led).text
    assert (shift.staff_id, shift.starts_at, shift.ends_at) == ("charge-1", at(540), at(1290))
    assert shift.breaks == (Break(at(830), at(860)),)
    assert day.works == {
        shift.id: ShiftWork(
            frozenset({"4", "5", "6", "Bay 2"}), (Duty(Period(at(900), at(930)), "round"),)
        )
    }
    assert day.trained == {
        "charge-1": Training(may_start=False, skills=frozenset({"child", "port"}))
    }
    window = WallWindow(at(540).time(), (at(540) + timedelta(minutes=30)).time())
    assert day.limits == WardLimits((window,), NightRule.REFUSED, 2, Collector.NURSE, 1, 3)


def test_what_was_entered_stands_in_the_form_and_is_the_same_after_recording_it_again(
    hospital: Hospital,
) -> None:
    _enter(hospital)
    before, visit = _day(hospital), hospital.visit(CHARGE)
    page = visit.see(DAY)

    assert _typed(page, "p0_on") == ["true"]
    assert [_typed(page, f"p0_{name}") for name in ("from", "until", "beds", "skills")] == [
        ["07:00"],
        ["19:30"],
        ["4, 5, 12"],
        ["child"],
    ]
    assert (_typed(page, "p0_break_1_from"), _typed(page, "p0_duty_1_name")) == (
        ["12:00"],
        ["round"],
    )
    visit.done(DAY, "day")
    after = _day(hospital)
    assert replace(after, ward=before.ward) == before


def test_taking_the_tick_away_takes_the_shift_off(hospital: Hospital) -> None:
    _enter(hospital)

    hospital.visit(CHARGE).done(DAY, "day", p0_on=[])

    assert (_day(hospital).shifts, _day(hospital).works) == ((), {})


def test_who_is_not_on_duty_has_the_times_of_their_last_shift_or_of_most_people(
    hospital: Hospital,
) -> None:
    _enter(hospital)
    page = hospital.visit(ADMINISTRATOR).see(f"{DAY}?day=2026-03-04")

    times = [
        (
            _typed(page, f"p{place}_on"),
            _typed(page, f"p{place}_from"),
            _typed(page, f"p{place}_break_1_from"),
        )
        for place in range(3)
    ]
    assert times == [([], ["07:00"], ["12:00"])] * 3
    assert [_typed(page, f"p{place}_beds") for place in range(3)] == [[""]] * 3
    assert "Duty tomorrow, Wednesday 4 March" in page.text
    assert _typed(hospital.visit(CHARGE).see(f"{DAY}?day=2026-03-20"), "p0_from") == [""]


def test_what_is_wrong_stands_beside_its_field_with_whose_it_is_and_nothing_is_lost(
    hospital: Hospital,
) -> None:
    typed = {
        "p0_on": "true",
        "p0_from": "",
        "p1_on": "true",
        "p1_from": "07:00",
        "p1_until": "25:00",
        "p1_break_1_from": "12:00",
        "p1_beds": "4, 5",
        "p2_on": "true",
        "p2_from": "07:00",
        "p2_until": "15:00",
        "p2_duty_1_name": "round",
        "handover_1_from": "7",
        "most_starts": "two",
    }

    answer = hospital.visit(CHARGE).send(DAY, "day", **typed)

    page = Page(answer.text)
    time = "expected a time from 00:00 to 23:59"
    missing = "no time was entered; expected for example 14:20"
    assert answer.status_code == 422
    assert page.errors == {
        "f-p0_from": f"{missing}",
        "f-p1_until": f"{time}",
        "f-p1_break_1_until": f"{missing}",
        "f-p2_duty_1_from": f"{missing}",
        "f-p2_duty_1_until": f"{missing}",
        "f-handover_1_from": time,
        "f-handover_1_until": "nothing was entered; this is needed",
        "f-most_starts": "“two” is not a whole number",
    }
    assert f"Cleo Colleague, until: {time} Cleo Colleague, break 1 until: {missing}" in page.text
    assert {name: _typed(page, name) for name in typed} == {
        name: [text] for name, text in typed.items()
    }
    assert "Units starting at once: “two” is not a whole number" in page.text
    assert f"Handover 1 from: {time}" in page.text
    assert _day(hospital).shifts == ()


@pytest.mark.parametrize(
    ("typed", "field", "why"),
    [
        (
            {"p2_break_2_from": "20:00", "p2_break_2_until": "20:30"},
            "f-p2_break_2_from",
            "lies outside the shift or overlaps the break before it",
        ),
        (
            {"p2_duty_2_from": "12:00", "p2_duty_2_until": "12:30"},
            "f-p2_duty_2_name",
            "is empty or long; expected up to 40 signs",
        ),
        (
            {"p2_staff": "nurse-9"},
            "f-p2_on",
            "is no nurse of this ward; expected one who works on it",
        ),
        (
            {"handover_2_from": "07:00", "handover_2_until": "07:00"},
            "f-handover_2_until",
            "is the time at which it begins; expected a later one",
        ),
    ],
)
def test_what_cannot_be_is_refused_beside_its_field(
    hospital: Hospital, typed: dict[str, str], field: str, why: str
) -> None:
    shift = {"p2_on": "true", "p2_from": "07:00", "p2_until": "19:30"}

    answer = hospital.visit(CHARGE).send(DAY, "day", **shift, **typed)

    assert (answer.status_code, Page(answer.text).errors) == (422, {field: why})
    assert '<details class="more" open>' in answer.text or "_2_name" not in field
    assert _day(hospital).shifts == ()


def test_a_day_that_somebody_changed_meanwhile_is_looked_at_first(hospital: Hospital) -> None:
    visit = hospital.visit(CHARGE)
    form = visit.see(DAY).form("day")
    _enter(hospital)

    answer = visit.post(
        form.action, form.filled({"p0_on": "true", "p0_from": "8:00", "p0_until": "16:00"})
    )

    page = Page(answer.text)
    assert answer.status_code == 409
    assert "Somebody changed this day meanwhile." in page.text
    assert _typed(page, "p0_from") == ["8:00"]
    assert [one.id for one in _day(hospital).shifts] == ["s1"]
    again = page.form("day")
    assert visit.post(again.action, again.filled({})).status_code == 303
    assert {one.staff_id for one in _day(hospital).shifts} == {"nurse-1", "charge-1"}


def test_the_day_before_is_copied_and_whoever_has_a_shift_keeps_it(hospital: Hospital) -> None:
    _enter(hospital)
    visit, tomorrow = hospital.visit(CHARGE), f"{DAY}?day=2026-03-04"
    page = visit.see(tomorrow)

    led = visit.done(tomorrow, "copy")

    assert "Copy Tuesday 3 March" in page.text
    assert led == f"{DAY}?day=2026-03-04&done=copied"
    (copied,) = _day(hospital, date(2026, 3, 4)).shifts
    assert (copied.starts_at, copied.breaks) == (at(1260), (Break(at(1560), at(1590)),))
    assert 'id="copy"' not in visit.see(led).html
    form = page.form("copy")
    again = visit.post(form.action, form.filled({}) | {"once": "another"})
    assert (again.status_code, "no shift that could be copied" in again.text) == (409, True)


def test_what_else_touches_the_day_is_named(hospital: Hospital) -> None:
    with hospital.store.write() as session:
        for draft in (
            ShiftDraft("nurse-2", "w1", at(-780), at(-60)),
            ShiftDraft("manager-1", "w1", at(-120), at(360)),
        ):
            enter_shift(session, ADMINISTRATOR, draft)

    text = hospital.visit(CHARGE).see(DAY).text
    night = "from the day before until 09:00: Cleo Colleague"
    assert f"Also here {night}; 08:00 to 16:00: Mona Manager." in text


def test_who_only_reads_sees_a_table_and_no_form(hospital: Hospital) -> None:
    _enter(hospital)
    with hospital.store.write() as session:
        limits = WardLimits((WallWindow(at(0).time(), at(30).time()),), porters=1)
        save_limits(session, "w1", limits, from_at=at(-10), by="charge-1")

    for person in (NURSE, MANAGER):
        page = hospital.visit(person).see(DAY)
        assert "Nina Nurse 07:00 to 19:30 12:00 to 12:30 4, 5, 12 round 11:00 to 11:30" in page.text
        assert "starts and checks child" in page.text
        assert "Nobody starts a unit 10:00 to 10:30 Units starting at once no limit" in page.text
        assert "Porters at once at most 1" in page.text
        assert 'id="day"' not in page.html
    nurse = hospital.visit(NURSE).see(f"{DAY}?day=2026-03-01")
    assert "Duty on Sunday 1 March" in nurse.text
    assert "Nobody is entered for this day." in nurse.text
    assert "Plans count with the minutes of the policy." in nurse.text
    assert 'id="learnt"' not in nurse.html


@pytest.mark.parametrize("person", [NURSE, MANAGER, OUTSIDE_CHARGE], ids=lambda one: one.id)
def test_who_plans_no_staff_of_the_ward_neither_records_nor_copies(
    hospital: Hospital, person: Actor
) -> None:
    _enter(hospital)
    form = hospital.visit(CHARGE).see(f"{DAY}?day=2026-03-04").form("copy")
    visit = hospital.visit(person)
    mine = visit.see("/my-sign-in")
    token = mine.forms[0].values["csrf_token"]

    for path in (DAY, form.action):
        refused = visit.post(path, {"csrf_token": token, "day": ["2026-03-04"]})
        assert refused.status_code == 403, path
    assert _day(hospital, date(2026, 3, 4)).shifts == ()


def test_an_outsider_sees_nothing_and_a_day_that_is_none_is_refused(hospital: Hospital) -> None:
    _enter(hospital)
    outside = hospital.visit(OUTSIDER).get(DAY)
    inside = hospital.visit(CHARGE)

    assert (outside.status_code, "Nina" in outside.text) == (403, False)
    assert inside.get(f"{DAY}?day=soon").status_code == 422
    far = inside.get(f"{DAY}?day=9999-12-31")
    assert (far.status_code, "expected a day nearer to today" in far.text) == (422, True)


def _learnt(visit: Visit) -> Page:
    return visit.see(f"{DAY}?day=2026-03-04")


def test_the_manager_sees_what_was_learnt_and_switches_it_on_and_off(hospital: Hospital) -> None:
    chart_three(hospital.charting)
    hospital.clock.now = at(1440)
    visit = hospital.visit(MANAGER)
    before = _learnt(visit)

    led = visit.done(f"{DAY}?day=2026-03-04", "learnt")
    during = visit.see(led.partition("#")[0])
    seen = hospital.visit(CHARGE).see(DAY)
    visit.done(f"{DAY}?day=2026-03-04", "learnt")

    assert led == f"{DAY}?day=2026-03-04&done=learnt#own-minutes"
    assert "No published minutes exist for these steps" in before.text
    assert "Plans count with the minutes of the policy ." in before.text
    assert (
        "From its arrival until the blood runs 15 min project default, to be set locally "
        "10 min 9 min to 11 min 3 the policy’s" in before.text
    )
    assert "fewer than 2 recorded, 3 needed the policy’s, always" in before.text
    assert "9 min to 11 min 3 the ward’s own, 10 min" in during.text
    assert "4.5 min to 5.5 min 3 the ward’s own, 5 min" in during.text
    assert "the ward’s own recorded minutes where there are enough of them" in seen.text
    assert _day(hospital).limits.use_learnt is False


def test_too_few_records_are_said_and_not_used(hospital: Hospital) -> None:
    chart_three(hospital.charting)
    with hospital.store.write() as session:
        save_limits(session, "w1", WardLimits(use_learnt=True), from_at=at(1430), by="manager-1")
    policy = hospital.app.state.policies["common"]
    hospital.charting.put_in_force(replace(policy), when=1435)
    hospital.clock.now = at(1440)

    text = _learnt(hospital.visit(MANAGER)).text

    assert "10 min 9 min to 11 min 3 recorded, 20 needed the policy’s" in text


@pytest.mark.parametrize("person", [CHARGE, NURSE, ADMINISTRATOR], ids=lambda one: one.id)
def test_the_switch_is_refused_to_everybody_but_the_manager(
    hospital: Hospital, person: Actor
) -> None:
    visit = hospital.visit(person)
    token = visit.see("/my-sign-in").forms[0].values["csrf_token"]

    refused = visit.post(f"{DAY}/learnt", {"csrf_token": token, "learnt": "true"})

    assert refused.status_code == 403
    assert _day(hospital).limits.use_learnt is False


def test_the_night_on_which_the_clocks_go_back_keeps_what_was_entered(hospital: Hospital) -> None:
    # London: on 25 October 2026 the clocks go back at 01:00 UTC, so that 01:30 comes twice.
    night = date(2026, 10, 24)
    begins = at(0).replace(month=10, day=24, hour=19)  # 20:00 on the wall
    second = begins + timedelta(hours=6, minutes=30)  # 01:30 UTC, the second 01:30
    pause = Break(second, second + timedelta(minutes=20))
    shift = ShiftDraft("nurse-1", "w1", begins, begins + timedelta(hours=12), (pause,), "night")
    with hospital.store.write() as session:
        enter_day(session, CHARGE, DayDraft("w1", (PersonDay(shift, ShiftWork()),)), now=at(0))
    stored = _day(hospital, night)

    kept = read_typed_day(Entry(day_values(stored)), stored).draft.people[0].shift
    anew = replace(stored, shifts=())
    typed = read_typed_day(Entry(day_values(stored)), anew).draft.people[0].shift

    assert kept == replace(shift, breaks=(pause,))
    assert typed.breaks[0].starts_at == second - timedelta(hours=1)
    hospital.clock.now = begins
    page = hospital.visit(CHARGE).see(f"{DAY}?day=2026-10-25")
    assert "The clocks change on this day:" in page.text
