"""What a plan is asked of each unit that is not started, and which cannot be planned.

280 mL of red cells by the common policy: 15 mL in the slow start, then 265 mL at 300 mL/h, 53 min:
68 min in all.
"""

from datetime import datetime, timedelta
from typing import Any

import pytest

from server.domain.payloads import (
    Available,
    Issued,
    Payload,
    Received,
)
from server.domain.picture import Case
from server.domain.plan.problem import PlanUnit
from server.domain.plan.units import PlanUnits, plan_units
from server.domain.words import Component, Priority
from server.domain.workload.task import Work
from tests.domain.builders import at, case, look, with_policy
from tests.domain.working import TERMS, check, minutes


def plan(now: float, *units: Case) -> PlanUnits:
    return plan_units([look(one, at(now)) for one in units], TERMS)


def one(unit: Case, now: float = 0) -> PlanUnit:
    (found,) = plan(now, unit).units
    return found


CHECKS = (check(Work.FIRST_CHECK, 10, 15, 20), check(Work.END_CHECK, 68, 83, 128))


def test_a_unit_in_storage_is_told_with_everything_that_is_known_of_it() -> None:
    unit = case(
        (-10, Available()),
        priority=Priority.URGENT,
        wanted_by=at(120),
        sample_taken_at=at(-60),
        nurse_id="nurse-1",
    )

    assert one(unit) == PlanUnit(
        episode_id="episode-1",
        patient_id="patient-1",
        bed="4",
        component=Component.RED_CELLS,
        priority=Priority.URGENT,
        ready_at=at(0),
        runs=minutes(68),
        finish_within=minutes(240),
        checks=CHECKS,
        wanted_by=at(120),
        done_by=at(72 * 60 - 60),
        done_by_rule="sample",
        gap=minutes(30),
        nurse_id="nurse-1",
    )


def test_a_long_unit_has_running_checks_and_its_end_after_them() -> None:
    """Ordered over 3 h: checks an hour after the first, and an hour after that."""
    assert one(case(duration_minutes=180)).checks == (
        check(Work.FIRST_CHECK, 10, 15, 20),
        check(Work.RUNNING_CHECK, 60, 75, 90),
        check(Work.RUNNING_CHECK, 120, 135, 150, n=2),
        check(Work.END_CHECK, 180, 195, 240),
    )


@pytest.mark.parametrize(
    ("fields", "runs"),
    [
        ({}, 68),
        ({"duration_minutes": 180}, 180),
        ({"max_rate_ml_h": 106}, 165),
        ({"max_rate_ml_h": 56}, 300),
        ({"volume_ml": 20, "duration_minutes": 240}, 240),
        ({"volume_ml": 15}, 15),
    ],
)
def test_a_unit_runs_slowly_first_and_then_as_ordered(fields: dict[str, Any], runs: int) -> None:
    assert one(case(**fields)).runs == minutes(runs)


def test_without_a_slow_start_it_runs_as_ordered_from_the_start() -> None:
    unslowed = with_policy(rate_first=timedelta(0))

    assert one(case(policy=unslowed)).runs == minutes(56)


@pytest.mark.parametrize(
    ("not_before", "ready"), [(None, 0), (at(31), 0), (at(32), 1), (at(91), 60)]
)
def test_it_is_called_for_so_that_it_runs_no_earlier_than_ordered(
    not_before: datetime | None, ready: int
) -> None:
    """16 min of way and 15 min of check lie between the call and the blood."""
    assert one(case(not_before=not_before)).ready_at == at(ready)


@pytest.mark.parametrize(
    ("origins", "within"),
    [
        (("removed",), 240),
        (("issued", "started"), 240),
        (("received",), 250),
        (("spiked", "started"), 250),
        (("started",), 265),
    ],
)
def test_the_time_to_finish_counts_from_leaving_storage(
    origins: tuple[str, ...], within: int
) -> None:
    unit = case(policy=with_policy(finish_from=origins))

    assert one(unit).finish_within == minutes(within)


@pytest.mark.parametrize(
    ("facts", "now", "ready", "by"),
    [
        (((0, Issued()),), 5, 10, 15),
        (((0, Issued()), (4, Received())), 5, 5, 15),
        (((0, Issued()), (4, Received())), 15, 15, 15),
        (((0, Issued()), (4, Received())), 16, 16, 240 - 68 - 15),
        (((0, Issued(expires_at=at(90))), (4, Received())), 5, 5, 90 - 68 - 15),
        (((-40, Issued()),), 0, 0, 200 - 68 - 15),
    ],
)
def test_the_check_of_an_issued_unit_must_begin_by_the_limit_that_can_still_be_kept(
    facts: tuple[tuple[int, Payload], ...], now: int, ready: int, by: int
) -> None:
    """The limit of the start is 30 min after the issue; past that, what the finish limit leaves."""
    found = one(case(*facts), now)

    assert (found.is_issued, found.ready_at, found.check_by) == (True, at(ready), at(by))


def test_an_issued_unit_whose_finish_counts_from_nothing_known_has_no_last_check() -> None:
    uncounted = with_policy(finish_from=("received",), finish_respect_expiry=False)

    assert one(case((0, Issued()), policy=uncounted), 40).check_by is None


def test_an_issued_unit_waits_for_the_time_that_was_ordered_too() -> None:
    assert one(case((0, Issued()), (4, Received()), not_before=at(25)), 5).ready_at == at(10)


@pytest.mark.parametrize(
    ("expires", "respected", "expected"),
    [
        (at(100), True, (at(100), "expiry")),
        (at(72 * 60), True, (at(72 * 60), "expiry")),
        (at(72 * 60 + 1), True, (at(72 * 60), "sample")),
        (at(100), False, (at(72 * 60), "sample")),
    ],
)
def test_the_earlier_of_sample_and_expiry_binds(
    expires: datetime, *, respected: bool, expected: tuple[datetime, str]
) -> None:
    unit = case(
        (0, Issued(expires_at=expires)),
        sample_taken_at=at(),
        policy=with_policy(finish_respect_expiry=respected),
    )
    found = one(unit, 1)

    assert (found.done_by, found.done_by_rule) == expected


@pytest.mark.parametrize(
    ("component", "at_once"), [(Component.PLATELETS, True), (Component.RED_CELLS, False)]
)
def test_what_the_policy_does_not_leave_waiting_is_told(
    component: Component, *, at_once: bool
) -> None:
    assert one(case(component=component)).at_once is at_once
