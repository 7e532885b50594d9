"""A whole day of a ward entered, changed and copied on one page."""

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
from server.services.enter_day import DayDraft, PersonDay, enter_day
from server.services.enter_shift import ShiftDraft
from server.store.shifts import Break
from server.store.training import ShiftWork, Training
from tests.domain.builders import at
from tests.pages.day_page import DAY, enter, read, typed_in
from tests.pages.hospital import Hospital
from tests.pages.reading import Page
from tests.services.people import (
    ADMINISTRATOR,
    CHARGE,
)


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

    (shift,) = read(hospital).shifts
    day = read(hospital)
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
    enter(hospital)
    before, visit = read(hospital), hospital.visit(CHARGE)
    page = visit.see(DAY)

    assert typed_in(page, "p0_on") == ["true"]
    assert [typed_in(page, f"p0_{name}") for name in ("from", "until", "beds", "skills")] == [
        ["07:00"],
        ["19:30"],
        ["4, 5, 12"],
        ["child"],
    ]
    assert (typed_in(page, "p0_break_1_from"), typed_in(page, "p0_duty_1_name")) == (
        ["12:00"],
        ["round"],
    )
    visit.done(DAY, "day")
    after = read(hospital)
    assert replace(after, ward=before.ward) == before


def test_taking_the_tick_away_takes_the_shift_off(hospital: Hospital) -> None:
    enter(hospital)

    hospital.visit(CHARGE).done(DAY, "day", p0_on=[])

    assert (read(hospital).shifts, read(hospital).works) == ((), {})


def test_who_is_not_on_duty_has_the_times_of_their_last_shift_or_of_most_people(
    hospital: Hospital,
) -> None:
    enter(hospital)
    page = hospital.visit(ADMINISTRATOR).see(f"{DAY}?day=2026-03-04")

    times = [
        (
            typed_in(page, f"p{place}_on"),
            typed_in(page, f"p{place}_from"),
            typed_in(page, f"p{place}_break_1_from"),
        )
        for place in range(3)
    ]
    assert times == [([], ["07:00"], ["12:00"])] * 3
    assert [typed_in(page, f"p{place}_beds") for place in range(3)] == [[""]] * 3
    assert "Duty tomorrow, Wednesday 4 March" in page.text
    assert typed_in(hospital.visit(CHARGE).see(f"{DAY}?day=2026-03-20"), "p0_from") == [""]


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
    assert {name: typed_in(page, name) for name in typed} == {
        name: [text] for name, text in typed.items()
    }
    assert "Units starting at once: “two” is not a whole number" in page.text
    assert f"Handover 1 from: {time}" in page.text
    assert read(hospital).shifts == ()


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
    assert read(hospital).shifts == ()


def test_a_day_that_somebody_changed_meanwhile_is_looked_at_first(hospital: Hospital) -> None:
    visit = hospital.visit(CHARGE)
    form = visit.see(DAY).form("day")
    enter(hospital)

    answer = visit.post(
        form.action, form.filled({"p0_on": "true", "p0_from": "8:00", "p0_until": "16:00"})
    )

    page = Page(answer.text)
    assert answer.status_code == 409
    assert "Somebody changed this day meanwhile." in page.text
    assert typed_in(page, "p0_from") == ["8:00"]
    assert [one.id for one in read(hospital).shifts] == ["s1"]
    again = page.form("day")
    assert visit.post(again.action, again.filled({})).status_code == 303
    assert {one.staff_id for one in read(hospital).shifts} == {"nurse-1", "charge-1"}


def test_the_day_before_is_copied_and_whoever_has_a_shift_keeps_it(hospital: Hospital) -> None:
    enter(hospital)
    visit, tomorrow = hospital.visit(CHARGE), f"{DAY}?day=2026-03-04"
    page = visit.see(tomorrow)

    led = visit.done(tomorrow, "copy")

    assert "Copy Tuesday 3 March" in page.text
    assert led == f"{DAY}?day=2026-03-04&done=copied"
    (copied,) = read(hospital, date(2026, 3, 4)).shifts
    assert (copied.starts_at, copied.breaks) == (at(1260), (Break(at(1560), at(1590)),))
    assert 'id="copy"' not in visit.see(led).html
    form = page.form("copy")
    again = visit.post(form.action, form.filled({}) | {"once": "another"})
    assert (again.status_code, "no shift that could be copied" in again.text) == (409, True)


def test_the_night_on_which_the_clocks_go_back_keeps_what_was_entered(hospital: Hospital) -> None:
    # London: on 25 October 2026 the clocks go back at 01:00 UTC, so that 01:30 comes twice.
    night = date(2026, 10, 24)
    begins = at(0).replace(month=10, day=24, hour=19)  # 20:00 on the wall
    second = begins + timedelta(hours=6, minutes=30)  # 01:30 UTC, the second 01:30
    pause = Break(second, second + timedelta(minutes=20))
    shift = ShiftDraft("nurse-1", "w1", begins, begins + timedelta(hours=12), (pause,), "night")
    with hospital.store.write() as session:
        enter_day(session, CHARGE, DayDraft("w1", (PersonDay(shift, ShiftWork()),)), now=at(0))
    stored = read(hospital, night)

    kept = read_typed_day(Entry(day_values(stored)), stored).draft.people[0].shift
    anew = replace(stored, shifts=())
    typed = read_typed_day(Entry(day_values(stored)), anew).draft.people[0].shift

    assert kept == replace(shift, breaks=(pause,))
    assert typed.breaks[0].starts_at == second - timedelta(hours=1)
    hospital.clock.now = begins
    page = hospital.visit(CHARGE).see(f"{DAY}?day=2026-10-25")
    assert "The clocks change on this day:" in page.text
