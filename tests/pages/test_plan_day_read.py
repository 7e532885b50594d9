"""A day of a ward as others read it, who may change nothing of it, and its learnt minutes."""

from dataclasses import replace
from datetime import date

import pytest

from server.domain.workload.capacity import (
    WallWindow,
    WardLimits,
)
from server.services.actor import Actor
from server.services.enter_shift import ShiftDraft, enter_shift
from server.store.ward_limits import save_limits
from tests.domain.builders import at
from tests.pages.day_page import DAY, enter, read
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


def test_what_else_touches_the_day_is_named(hospital: Hospital) -> None:
    with hospital.store.write() as session:
        for draft in (
            ShiftDraft("nurse-2", "w1", at(-780), at(-60)),
            ShiftDraft("manager-1", "w1", at(-120), at(360)),
        ):
            enter_shift(session, ADMINISTRATOR, draft, now=at(-240))

    text = hospital.visit(CHARGE).see(DAY).text
    night = "from the day before until 09:00: Cleo Colleague"
    assert f"Also here {night}; 08:00 to 16:00: Mona Manager." in text


def test_who_only_reads_sees_a_table_and_no_form(hospital: Hospital) -> None:
    enter(hospital)
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
    enter(hospital)
    form = hospital.visit(CHARGE).see(f"{DAY}?day=2026-03-04").form("copy")
    visit = hospital.visit(person)
    mine = visit.see("/my-sign-in")
    token = mine.forms[0].values["csrf_token"]

    for path in (DAY, form.action):
        refused = visit.post(path, {"csrf_token": token, "day": ["2026-03-04"]})
        assert refused.status_code == 403, path
    assert read(hospital, date(2026, 3, 4)).shifts == ()


def test_an_outsider_sees_nothing_and_a_day_that_is_none_is_refused(hospital: Hospital) -> None:
    enter(hospital)
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
    assert read(hospital).limits.use_learnt is False


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
    assert read(hospital).limits.use_learnt is False
