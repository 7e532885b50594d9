"""The worth of a plan, level by level, by hand-counted minutes."""

from dataclasses import replace
from typing import Any

import pytest

from server.domain.plan.problem import Earlier
from server.domain.plan.proposal import LaidTask, Objective
from server.domain.plan.score import beyond_share, fair_shares, next_overload, score
from server.domain.plan.weights import can_wait, weight
from server.domain.words import Priority
from server.domain.workload.capacity import NightRule, WardRules
from server.domain.workload.task import Work
from tests.domain.builders import at
from tests.domain.small_wards import (
    TERMS,
    a_nurse,
    a_start,
    a_task,
    a_unit,
    a_ward,
    span,
    stretch,
)

ROUTINE, URGENT = a_unit("unit 1"), a_unit("unit 2", priority=Priority.URGENT)


@pytest.mark.parametrize(
    ("changes", "found"),
    [
        ({}, (True, 1)),
        ({"at_once": True}, (False, 3)),
        ({"is_issued": True}, (False, 3)),
        ({"priority": Priority.URGENT}, (False, 3)),
        ({"priority": Priority.EMERGENCY, "is_issued": True}, (False, 10)),
    ],
)
def test_what_can_wait_and_how_much_it_weighs(
    changes: dict[str, Any], found: tuple[bool, int]
) -> None:
    unit = a_unit("unit 1", **changes)

    assert (can_wait(unit), weight(unit)) == found


def test_units_without_a_start_count_by_their_weight() -> None:
    assert score(a_ward(ROUTINE, URGENT), []) == Objective(4, 0, 0, 0, 0)


def test_an_urgent_unit_is_late_from_its_earliest_or_wanted_time_on() -> None:
    wanted = replace(URGENT, wanted_by=at(40))

    assert score(a_ward(URGENT), [a_start(URGENT, 35)]).urgent_late == 3 * 15
    assert score(a_ward(wanted), [a_start(wanted, 30)]).urgent_late == 0
    assert score(a_ward(wanted), [a_start(wanted, 35)]).urgent_late == 3 * 5


def test_a_routine_unit_waits_and_is_late_beyond_the_longest_wait_or_its_wanted_time() -> None:
    start = a_start(ROUTINE, 80)
    wanted = replace(ROUTINE, wanted_by=at(60))
    capped = replace(TERMS, longest_wait=span(45))

    assert score(a_ward(ROUTINE), [start]) == Objective(0, 0, 0, 0, 60)
    assert score(a_ward(wanted), [start]) == Objective(0, 30, 0, 0, 60)
    assert score(a_ward(ROUTINE, terms=capped), [start]) == Objective(0, 15, 0, 0, 60)


def test_waiting_counts_from_when_the_unit_before_can_be_over_at_best() -> None:
    second = a_unit("unit 2", after="unit 1", gap=span(27))
    runs = a_unit("unit 3", after="elsewhere", free_at=at(30), gap=span(10))

    found = score(
        a_ward(ROUTINE, second), [a_start(ROUTINE, 20), a_start(second, 125, "bo", "ana")]
    )

    assert found.comfort == 5
    assert score(a_ward(runs), [a_start(runs, 45)]).comfort == 5


def test_overload_is_work_that_nobody_is_free_for_and_routine_starts_at_night() -> None:
    night = WardRules(nights=(stretch(0, 60),))
    allowed = replace(night, night_rule=NightRule.ALLOWED)
    start, bare = a_start(ROUTINE, 20), a_start(ROUTINE, 20, checks=())

    assert score(a_ward(ROUTINE), [bare]).overload == 15
    assert score(a_ward(ROUTINE, rules=night), [start]).overload == 60
    assert score(a_ward(ROUTINE, rules=allowed), [start]).overload == 0
    assert score(a_ward(URGENT, rules=night), [a_start(URGENT, 20)]).overload == 0


def test_movable_work_under_way_counts_where_it_is_not_laid() -> None:
    movable = a_task("unit 9", Work.RUNNING_CHECK, 40, 5, latest=at(50))
    elsewhere = a_task("unit 8", Work.RUNNING_CHECK, 40, 5, latest=at(50), staff_id="eve")
    ward = a_ward(tasks=(movable, elsewhere))

    assert score(ward, []).overload == 10
    assert score(ward, [], [LaidTask("unit 9", Work.RUNNING_CHECK, 1, at(45))]).overload == 5


@pytest.mark.parametrize(
    ("earlier", "changes"),
    [
        (Earlier(at(20), "ana", "bo"), 0),
        (Earlier(at(25), "ana", "bo"), 1),
        (Earlier(at(20), "bo", "ana"), 1),
        (Earlier(at(20), "ana", None), 1),
    ],
)
def test_a_change_is_another_time_or_other_people(earlier: Earlier, changes: int) -> None:
    ward = a_ward(ROUTINE, accepted={"unit 1": earlier, "unit 7": earlier})

    assert score(ward, [a_start(ROUTINE, 20)]).changes == changes


def test_a_start_by_somebody_other_than_its_nurse_costs_comfort() -> None:
    named = replace(ROUTINE, nurse_id="bo")

    assert score(a_ward(named), [a_start(named, 20)]).comfort == 15
    assert score(a_ward(named), [a_start(named, 20, "bo", "ana")]).comfort == 0


def test_overload_grows_by_whole_pieces_of_work_and_night_starts() -> None:
    ward = a_ward(ROUTINE)

    assert next_overload(a_ward(), 0) == 60
    assert [next_overload(ward, minutes) for minutes in (0, 7, 10)] == [5, 10, 15]


def test_a_share_is_by_hours_on_duty_and_what_is_beyond_it_costs_comfort() -> None:
    nurses = (
        a_nurse("ana"),
        a_nurse("bo", period=stretch(0, 120)),
        a_nurse("cy", may_start=False),
        a_nurse("di", period=stretch(300, 600)),
    )
    units = tuple(a_unit(f"unit {n}") for n in range(1, 4))
    ward = a_ward(*units, nurses=nurses)
    starts = [a_start(unit, 20 + 25 * n) for n, unit in enumerate(units)]

    assert fair_shares(ward) == {"ana": 2, "bo": 1, "di": 0}
    assert beyond_share(ward, starts) == 1
    assert score(ward, starts).comfort == 25 + 50 + 20
    assert fair_shares(a_ward(nurses=())) == {}


def test_starts_of_units_that_are_not_asked_for_are_left_aside() -> None:
    assert score(a_ward(), [a_start(ROUTINE, 20)]) == Objective(0, 0, 0, 0, 0)
