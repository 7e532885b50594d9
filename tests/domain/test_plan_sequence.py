"""The units of one patient one after the other, and those that nobody can plan."""

from datetime import datetime
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from server.domain.payloads import (
    Completed,
    Issued,
    Paused,
    Payload,
    RateSet,
    Started,
    Stopped,
    Warned,
)
from server.domain.picture import Case, Picture, picture
from server.domain.plan.problem import PlanCheck
from server.domain.plan.units import PlanUnits, plan_units
from server.domain.reaction import Elsewhere
from server.domain.words import Component, Phase, Priority
from server.domain.workload.project import FROM_THE_CHECK
from server.domain.workload.projection import LeftOut, NotKnown
from tests.domain.builders import FULL, at, case, look, with_policy
from tests.domain.episodes import cases
from tests.domain.working import TERMS, minutes


def plan(now: float, *units: Case) -> PlanUnits:
    return plan_units([look(one, at(now)) for one in units], TERMS)


def ordered(name: str, *facts: tuple[int, Payload], **fields: Any) -> Case:
    return case(*facts, id=name, **fields)


def test_the_units_of_one_patient_follow_each_other_in_the_order_of_need() -> None:
    """What is out of storage, then the emergency, then as asked for and as counted in the order."""
    found = plan(
        5,
        ordered("second", n=2),
        ordered("first", n=1),
        ordered("later", not_before=at(300)),
        ordered("emergency", priority=Priority.EMERGENCY),
        ordered("issued", (0, Issued())),
        ordered("elsewhere", patient_id="patient-2"),
    ).units

    assert [(unit.episode_id, unit.after, unit.gap) for unit in found] == [
        ("issued", None, minutes(30)),
        ("emergency", "issued", minutes(0)),
        ("first", "emergency", minutes(30)),
        ("second", "first", minutes(30)),
        ("later", "second", minutes(30)),
        ("elsewhere", None, minutes(30)),
    ]


RUNNING = ((0, Issued()), (10, Started(60)), (25, RateSet(100)))


@pytest.mark.parametrize(
    ("facts", "free"),
    [
        (RUNNING, at(184)),
        ((*RUNNING, (60, Stopped("fever"))), at(60)),
        ((*RUNNING, (60, Completed()), (61, FULL)), at(60)),
        ((*RUNNING, (60, Paused())), at(240)),
        ((*RUNNING, (60, RateSet(10))), at(240)),
    ],
)
def test_a_patient_is_free_when_what_runs_is_in_or_has_to_be_down(
    facts: tuple[tuple[int, Payload], ...], free: datetime
) -> None:
    found = plan(70, ordered("running", *facts), ordered("waiting"), ordered("last", n=2)).units

    assert [(unit.episode_id, unit.free_at, unit.after) for unit in found] == [
        ("waiting", free, None),
        ("last", None, "waiting"),
    ]


def test_past_the_limit_a_unit_that_is_still_up_keeps_its_patient_busy() -> None:
    paused = ordered("running", *RUNNING, (60, Paused()))

    (found,) = plan(250, paused, ordered("waiting")).units

    assert found.free_at == at(250)


HELD = Elsewhere("running", "4", Component.RED_CELLS, None, at(1))


@pytest.mark.parametrize(
    ("unit", "why"),
    [
        (ordered("u", elsewhere=(HELD,)), NotKnown.REACTION),
        (ordered("u", (0, Warned("episode-3", "9"))), NotKnown.WARNED),
        (ordered("u", volume_ml=None), NotKnown.NO_VOLUME),
        (ordered("u", (-300, Issued())), NotKnown.PAST_LIMIT),
    ],
)
def test_a_unit_that_nobody_can_plan_is_left_out_with_the_reason(unit: Case, why: NotKnown) -> None:
    assert plan(5, unit) == PlanUnits((), (LeftOut("u", "4", why, FROM_THE_CHECK),))


def test_what_comes_after_a_unit_that_is_left_out_still_follows_it() -> None:
    found = plan(5, ordered("first", volume_ml=None), ordered("second", n=2))

    assert [unit.after for unit in found.units] == ["first"]


def test_without_any_end_of_what_runs_the_next_cannot_be_planned() -> None:
    unlimited = with_policy(finish_from=("received",), finish_respect_expiry=False)
    paused = ordered("running", *RUNNING, (60, Paused()), policy=unlimited)

    found = plan(70, paused, ordered("waiting"))

    assert found == PlanUnits((), (LeftOut("waiting", "4", NotKnown.PAUSED, FROM_THE_CHECK),))


@given(st.lists(cases(), max_size=4), st.integers(0, 20_000))
@settings(max_examples=40)
def test_no_waiting_unit_is_lost_and_windows_are_in_order(given_: list[Case], second: int) -> None:
    now = at(0, second)
    seen = [_seen(unit, now) for unit in given_]

    found = plan_units(seen, TERMS)

    waiting = sum(
        one.episode.phase in {Phase.REQUESTED, Phase.AVAILABLE, Phase.ISSUED} for one in seen
    )
    assert len(found.units) + len(found.left_out) == waiting
    assert all(_in_order(check) for unit in found.units for check in unit.checks)


def _seen(unit: Case, now: datetime) -> Picture:
    return picture(unit.known(at=now), now)


def _in_order(check: PlanCheck) -> bool:
    return check.earliest <= check.due <= check.latest
