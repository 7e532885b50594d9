"""A unit that is being called for just now stays where the accepted plan has it."""

from dataclasses import replace
from datetime import datetime, timedelta

import pytest

from server.domain.plan.alone import candidates
from server.domain.plan.called import count_calls, keep_calls
from server.domain.plan.problem import Pin, PlanUnit, Problem
from server.domain.plan.proposal import Start
from server.domain.plan.way import own_earliest
from server.domain.workload.capacity import Capacity
from tests.domain.builders import around, at
from tests.domain.test_plan_wishes import PROBLEM, UNIT

# Called at 10:30, out of storage at 10:50, checked at 11:00; a step of the grid is 5 min.
START = Start("e1", at(30), at(60), at(70), at(85), at(190), "n1", "n2")
FIXED = Pin(at(60), "n1", "n2")


def _at(now: datetime, unit: PlanUnit = UNIT) -> Problem:
    """The ward at an instant: the unit can be called for from then on."""
    begins = now + (timedelta(minutes=5) - (now - at(0)) % timedelta(minutes=5))
    people = tuple(
        replace(one, period=PROBLEM.capacity.on_duty[0].period) for one in PROBLEM.capacity.on_duty
    )
    return replace(
        PROBLEM,
        from_at=begins,
        units=(replace(unit, ready_at=now),),
        tasks=(),
        capacity=Capacity("w1", now, people, PROBLEM.capacity.rules),
    )


def _looked(now: datetime, unit: PlanUnit = UNIT) -> tuple[datetime | None, Pin]:
    """Since when the unit is being called for then, and how it is fixed."""
    counted = count_calls(_at(now, unit), [START])
    (kept,) = keep_calls(counted, [START]).units
    return kept.called_at, kept.pin


def test_a_unit_is_called_for_from_a_step_before_its_call_until_it_should_be_out() -> None:
    early, first, _ = around(at(25))
    _, last, late = around(at(55))

    assert _looked(early) == (None, Pin())
    assert [_looked(now) for now in (first, at(30), at(40), last)] == [(at(30), FIXED)] * 4
    assert _looked(late) == (None, Pin())


def test_a_unit_that_is_called_for_is_as_early_as_its_call_and_no_earlier_than_now() -> None:
    (unit,) = (problem := count_calls(_at(at(40)), [START])).units

    assert own_earliest(problem, unit) == at(60)
    assert candidates(problem, unit)[:2] == (at(60), at(70))


def test_what_somebody_fixed_otherwise_or_is_out_already_is_left_alone() -> None:
    by_hand = replace(UNIT, pin=Pin(at(90)))
    issued = replace(UNIT, is_issued=True)

    assert _looked(at(40), by_hand) == (at(30), Pin(at(90)))
    assert _looked(at(40), issued) == (None, Pin())


@pytest.mark.parametrize(
    "start",
    [
        replace(START, nurse_id="n9"),
        replace(START, call_at=None),
        replace(START, episode_id="gone"),
    ],
    ids=["somebody who is gone", "no call", "another unit"],
)
def test_what_breaks_a_rule_or_is_no_call_is_free(start: Start) -> None:
    (kept,) = keep_calls(count_calls(_at(at(40)), [start]), [start]).units

    assert kept.pin == Pin()
