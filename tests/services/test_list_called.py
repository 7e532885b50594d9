"""Reminders reach whoever they go to, and fall silent for everybody once somebody has them."""

import pytest

from server.domain.payloads import Assigned, Issued, Voided
from server.domain.words import ClockName, Role, Stage
from server.services.acknowledge import acknowledge
from server.services.actor import Actor
from server.services.cover import CoverDraft, cover
from server.services.enter_shift import ShiftDraft, enter_shift
from server.services.enter_staff import enter_staff
from server.services.list_mine import list_mine
from tests.domain.builders import at
from tests.services.charting import Charting, local_policy
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

RELIEF = Actor("charge-2", "Cara Charge", Role.CHARGE_NURSE, W1, staff_id="charge-2")
START = {("e1", ClockName.START, Stage.ESCALATE), ("e1", ClockName.RETURN, Stage.ESCALATE)}


def calls(charting: Charting, actor: Actor, minute: float) -> set[tuple[str, ClockName, Stage]]:
    """What calls somebody for units of others: unit, clock and stage."""
    with charting.store.read() as session:
        listed = list_mine(session, actor, now=at(minute))
    assert not {one.picture.case.request.id for one in listed.called} & {
        one.picture.case.request.id for one in listed.units
    }
    return {
        (call.episode_id, call.clock, call.stage) for one in listed.called for call in one.calls
    }


def on_duty(charting: Charting, person: Actor, begins: float, ends: float) -> None:
    with charting.store.write() as session:
        enter_shift(
            session, ADMINISTRATOR, ShiftDraft(person.id, "w1", at(begins), at(ends)), now=at(-240)
        )


@pytest.fixture
def late(charting: Charting) -> Charting:
    """Unit `e1` of nurse-1, not started: at 35 min it was escalated to charge-1, on duty to 60."""
    on_duty(charting, CHARGE, -60, 60)
    charting.open(nurse_id="nurse-1")
    charting.issue()
    charting.tick_each(60, 20, 36)
    return charting


@ON_BOTH_ENGINES
def test_what_is_escalated_calls_the_charge_nurse_on_duty_and_nobody_else(late: Charting) -> None:
    assert calls(late, CHARGE, 36) == START
    assert calls(late, NURSE, 36) == calls(late, COLLEAGUE, 36) == set()
    assert calls(late, OUTSIDE_CHARGE, 36) == set()


def test_whoever_comes_on_duty_is_called_from_that_second(late: Charting) -> None:
    with late.store.write() as session:
        enter_staff(session, ADMINISTRATOR, staff_draft(RELIEF), now=at(0))
    on_duty(late, RELIEF, 60, 120)

    found = [(calls(late, CHARGE, m), calls(late, RELIEF, m)) for m in (59 + 59 / 60, 60)]

    assert found == [(START, set()), (set(), START)]


def test_one_i_have_it_is_quiet_for_everybody(late: Charting) -> None:
    with late.store.write() as session:
        for clock in (ClockName.START, ClockName.RETURN):
            assert acknowledge(session, NURSE, "e1", clock, now=at(37))

    assert calls(late, CHARGE, 37) == set()


def test_what_is_done_calls_nobody(late: Charting) -> None:
    late.observe(37)
    late.start(minute=38)

    assert calls(late, CHARGE, 38) == set()


def test_what_a_correction_moved_calls_nobody(late: Charting) -> None:
    wrong = late.episode(36).events[0]
    late.record(36, Voided(wrong.id, "wrong time"))
    late.record(20, Issued(), now=at(37))

    due = [one.due_at for one in late.clocks("e1").values() if one.clock is ClockName.START]
    assert (due, calls(late, CHARGE, 37)) == ([at(50)], set())


def test_what_nobody_has_calls_whoever_is_in_charge_until_it_is_handed_over(
    charting: Charting,
) -> None:
    charting.open()
    charting.issue()
    charting.tick_each(60, 20, 31)
    with_nobody = calls(charting, CHARGE, 31)
    charting.record(32, Assigned("nurse-1"), actor=CHARGE)

    assert {stage for _, _, stage in with_nobody} == {Stage.OVERDUE}
    assert calls(charting, CHARGE, 32) == set()


def test_while_a_cover_is_in_force_the_charge_nurse_s_calls_go_to_whoever_covers(
    late: Charting,
) -> None:
    with late.store.write() as session:
        cover(session, CHARGE, CoverDraft("w1", "nurse-2", "charge-1", at(37), at(50)), now=at(37))

    assert (calls(late, CHARGE, 38), calls(late, CHARGE, 50)) == (set(), START)


def test_a_policy_can_have_the_charge_nurse_told_first(charting: Charting) -> None:
    own = local_policy("[reminders.to]\nvalue = 'charge_nurse'\n")
    charting.put_in_force(own, when=-300)
    charting.open(nurse_id="nurse-1")
    charting.issue()
    charting.tick_each(60, 20, 21)

    assert calls(charting, CHARGE, 21) == {
        ("e1", ClockName.START, Stage.NOTICE),
        ("e1", ClockName.RETURN, Stage.NOTICE),
    }


@pytest.mark.parametrize("units", [1, 3])
def test_the_list_costs_as_many_queries_for_one_call_as_for_three(
    charting: Charting, units: int
) -> None:
    for number in range(units):
        charting.open(f"e{number}", nurse_id="nurse-1")
        charting.issue(f"e{number}")
    charting.tick(36)

    with counted_queries(charting.store) as sent:
        found = calls(charting, CHARGE, 36)

    assert (len(found), len(sent)) == (2 * units, 17)
