"""Who is told: the nurse of the unit, then the charge nurse, then the ward's next contact."""

from dataclasses import replace
from datetime import datetime, timedelta

import pytest

from server.domain.payloads import Assigned, Issued, Voided
from server.domain.words import ClockName, Role, Stage
from server.services.actor import Actor
from server.services.cover import CoverDraft, cover
from server.services.enter_shift import ShiftDraft, enter_shift
from server.services.enter_staff import enter_staff
from tests.domain.builders import at
from tests.services.charting import Charting, local_policy, stages
from tests.services.engines import ON_BOTH_ENGINES
from tests.services.people import (
    ADMINISTRATOR,
    CHARGE,
    COLLEAGUE,
    NURSE,
    OUTSIDE_CHARGE,
    W1,
    staff_draft,
)
from tests.store.facts import counted_queries

SECOND_CHARGE = Actor("charge-2", "Cara Charge", Role.CHARGE_NURSE, W1, staff_id="charge-2")
EVERYWHERE = Actor("charge-3", "Cleo Charge", Role.CHARGE_NURSE, None, staff_id="charge-3")

EARLY, LATE = at(-60), at(420)


@pytest.fixture
def issued(charting: Charting) -> Charting:
    """Unit `e1` of ward `w1`, issued at the base: its start is due at 30 min."""
    charting.open()
    charting.issue()
    return charting


def _on_duty(
    charting: Charting,
    person: Actor,
    starts_at: datetime = EARLY,
    ends_at: datetime = LATE,
    ward_id: str = "w1",
) -> None:
    with charting.store.write() as session:
        shift = ShiftDraft(person.id, ward_id, starts_at, ends_at)
        enter_shift(session, ADMINISTRATOR, shift, now=at(-240))


def _enter(charting: Charting, person: Actor, *, active: bool = True) -> None:
    with charting.store.write() as session:
        draft = replace(staff_draft(person), active=active)
        enter_staff(session, ADMINISTRATOR, draft, now=at(0))


def _told(charting: Charting, ward_id: str = "w1") -> dict[str, str]:
    """Who was told at each stage of the start, repeats apart."""
    raised = charting.reminders(ward_id, ClockName.START)
    return {one.stage.value: one.to for one in raised if one.repeat == 0}


@ON_BOTH_ENGINES
def test_each_stage_tells_who_has_to_know(issued: Charting) -> None:
    issued.record(1, Assigned("nurse-2"))
    _on_duty(issued, CHARGE)

    issued.tick(50)

    assert _told(issued) == {
        "notice": "nurse-2",
        "due": "nurse-2",
        "overdue": "nurse-2",
        "escalate": "charge-1",
        "second_escalate": "site manager",
    }


@ON_BOTH_ENGINES
def test_a_ward_says_in_its_policy_who_is_told_at_each_stage(charting: Charting) -> None:
    own = local_policy(
        "[reminders.to]\nvalue = 'charge_nurse'\n"
        "[reminders.escalate_to]\nvalue = 'next_contact'\n"
        "[reminders.second_escalate_to]\nvalue = 'manager'\n"
    )
    charting.put_in_force(own, when=-300)
    charting.open(nurse_id="nurse-2")
    charting.issue()
    _on_duty(charting, CHARGE)

    charting.tick(50)

    assert _told(charting) == {
        "notice": "charge-1",
        "due": "charge-1",
        "overdue": "charge-1",
        "escalate": "site manager",
        "second_escalate": "manager",
    }


def test_escalating_to_the_nurse_of_the_unit_reaches_whoever_covers(charting: Charting) -> None:
    own = local_policy("[reminders.escalate_to]\nvalue = 'unit_nurse'\n")
    charting.put_in_force(own, when=-300)
    charting.open(nurse_id="nurse-1")
    charting.issue()
    with charting.store.write() as session:
        draft = CoverDraft("w1", "nurse-2", "nurse-1", at(20), at(50))
        cover(session, CHARGE, draft, now=at(20))

    charting.tick(36)

    assert _told(charting)["escalate"] == "nurse-2"


def test_repeats_go_to_the_nurse(issued: Charting) -> None:
    issued.record(1, Assigned("nurse-2"))

    issued.tick(50)

    repeats = [one.to for one in issued.reminders(clock=ClockName.START) if one.repeat > 0]
    assert repeats == ["nurse-2"] * 4


def test_what_nobody_has_is_the_charge_nurses(issued: Charting) -> None:
    _on_duty(issued, CHARGE)

    issued.tick(30)

    assert _told(issued) == {"notice": "charge-1", "due": "charge-1"}


def test_without_a_plan_it_is_whoever_is_in_charge(charting: Charting) -> None:
    charting.open("e9", "p9", ward_id="w2")
    charting.record(0, Issued(), "e9", actor=OUTSIDE_CHARGE)

    charting.tick(50)

    assert _told(charting, "w2") == {
        "notice": "charge_nurse",
        "due": "charge_nurse",
        "overdue": "charge_nurse",
        "escalate": "charge_nurse",
        "second_escalate": "next_contact",
    }


@ON_BOTH_ENGINES
@pytest.mark.parametrize(
    ("seconds", "to"), [(-1, "charge-1"), (0, "charge-2"), (1, "charge-2")], ids=str
)
def test_at_the_second_of_the_handover_the_next_one_is_on_duty(
    issued: Charting, seconds: int, to: str
) -> None:
    _enter(issued, SECOND_CHARGE)
    _on_duty(issued, CHARGE, ends_at=at(35))
    _on_duty(issued, SECOND_CHARGE, starts_at=at(35))

    issued.tick(at(35) + timedelta(seconds=seconds))

    assert _told(issued)["due"] == to


@pytest.mark.parametrize(
    ("person", "starts_at", "ward_id"),
    [
        (COLLEAGUE, at(-60), "w1"),
        (CHARGE, at(40), "w1"),
        (OUTSIDE_CHARGE, at(-60), "w1"),
        (CHARGE, at(-60), "w2"),
    ],
    ids=["a bedside nurse", "not yet", "of another ward", "lent to another ward"],
)
def test_who_is_not_in_charge_here_now_is_not_told(
    issued: Charting, person: Actor, starts_at: datetime, ward_id: str
) -> None:
    _on_duty(issued, person, starts_at=starts_at, ward_id=ward_id)

    issued.tick(30)

    assert _told(issued)["due"] == "charge_nurse"


def test_who_has_left_is_not_told(issued: Charting) -> None:
    _on_duty(issued, CHARGE)
    _enter(issued, CHARGE, active=False)

    issued.tick(30)

    assert _told(issued)["due"] == "charge_nurse"


def test_of_two_in_charge_the_one_who_came_first_is_told(issued: Charting) -> None:
    _enter(issued, EVERYWHERE)
    _on_duty(issued, CHARGE, starts_at=at(-60))
    _on_duty(issued, EVERYWHERE, starts_at=at(-120))

    issued.tick(30)

    assert _told(issued)["due"] == "charge-3"


@pytest.mark.parametrize("units", [1, 3])
def test_asking_who_is_told_takes_as_many_queries_for_one_unit_as_for_three(
    charting: Charting, units: int
) -> None:
    for number in range(units):
        charting.open(f"e{number}")
        charting.issue(f"e{number}")
    _on_duty(charting, CHARGE)

    with counted_queries(charting.store) as sent:
        charting.tick(50)

    assert len(charting.reminders()) == units * 18
    asked = [statement for statement, _ in sent]
    assert sum("FROM shift" in statement for statement in asked) == 1
    assert sum("FROM staff \n" in statement for statement in asked) == 0


@ON_BOTH_ENGINES
def test_a_clock_that_a_correction_moves_is_owed_anew(issued: Charting) -> None:
    issued.tick_each(60, 20, 31)
    wrong = issued.episode(31).events[0]
    issued.record(31, Voided(wrong.id, "wrong time"))

    issued.record(10, Issued(), now=at(31))
    issued.tick_each(60, 32, 41)

    assert set(stages(issued.reminders(clock=ClockName.START))) == {
        ("notice", 0, at(20)),
        ("due", 0, at(30)),
        ("overdue", 0, at(30)),
        ("notice", 0, at(30)),
        ("due", 0, at(40)),
        ("overdue", 0, at(40)),
    }


def test_a_late_watch_calls_nobody(charting: Charting) -> None:
    charting.run()

    charting.tick(at(0) + timedelta(hours=30))

    told = {one.clock for one in charting.reminders()}
    assert ClockName.LATE_WATCH not in told
    assert Stage.NOTICE in {one.stage for one in charting.reminders(clock=ClockName.FIRST_CHECK)}
    assert NURSE.id not in {one.to for one in charting.reminders()}
