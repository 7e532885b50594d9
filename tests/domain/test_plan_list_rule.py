"""The list rule: urgent first, the earliest slot, fair to the second of two units."""

from dataclasses import replace

import pytest

from server.domain.plan.diary import most_at_once
from server.domain.plan.grid import next_on_grid, slots
from server.domain.plan.laying import draft
from server.domain.plan.list_rule import list_rule
from server.domain.plan.problem import Pin, PlanCheck, Problem
from server.domain.plan.proposal import LaidTask, PlannedCheck
from server.domain.plan.way import Placing, follow_ups, in_sequence
from server.domain.words import Priority
from server.domain.workload.capacity import WardRules
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


def placed(problem: Problem) -> dict[str, tuple[float, str, str | None]]:
    """By unit: the minute of its check, who starts it and who checks it."""
    return {
        one.episode_id: ((one.check_at - at(0)) / span(1), one.nurse_id, one.second_id)
        for one in list_rule(problem).starts
    }


@pytest.mark.parametrize(("minute", "next_"), [(0, 0), (1, 5), (5, 5), (56, 60)])
def test_the_grid_counts_from_the_full_hour(minute: int, next_: int) -> None:
    assert next_on_grid(at(minute), span(5)) == at(next_)


def test_slots_lie_on_the_grid_and_before_the_end() -> None:
    assert slots(at(58), at(75), span(5)) == (at(60), at(65), at(70))
    assert slots(at(0), at(0), span(5)) == ()
    assert slots(at(10), at(0), span(5)) == ()


def test_one_unit_is_checked_as_soon_as_it_can_be_there() -> None:
    unit = a_unit("unit 1")

    plan = list_rule(a_ward(unit))

    laid = (
        PlannedCheck(Work.FIRST_CHECK, 1, at(45)),
        PlannedCheck(Work.END_CHECK, 1, at(105)),
        PlannedCheck(Work.FINISH, 1, at(90)),
    )
    assert plan.starts == (a_start(unit, 20, checks=laid),)
    assert (plan.starts[0].call_at, plan.starts[0].first_check_at) == (at(0), at(45))


def test_a_check_inside_the_watch_is_no_work_of_its_own() -> None:
    checks = (
        PlanCheck(Work.FIRST_CHECK, 1, span(5), span(10), span(14)),
        PlanCheck(Work.RUNNING_CHECK, 1, span(31), span(32), span(33)),
    )
    lengths = {Work.FIRST_CHECK: span(5), Work.RUNNING_CHECK: span(5)}
    unit = a_unit("unit 1", checks=checks)

    (owed,) = follow_ups(unit, replace(TERMS, lengths=lengths))

    assert (owed.work, owed.offsets) == (Work.RUNNING_CHECK, (span(42),))
    assert a_start(unit, 20, checks=()).first_check_at == at(40)
    assert a_start(replace(unit, checks=()), 20, checks=()).first_check_at == at(45)


def test_a_window_between_two_steps_of_the_grid_is_taken_at_its_begin() -> None:
    check = PlanCheck(Work.RUNNING_CHECK, 1, span(41), span(40), span(43))
    unit = a_unit("unit 1", checks=(check,))
    lengths = {Work.RUNNING_CHECK: span(5)}

    (owed,) = follow_ups(unit, replace(TERMS, lengths=lengths))

    assert owed.offsets == (span(51),)


def test_urgent_units_go_first_and_one_nurse_does_one_thing_at_a_time() -> None:
    routine, urgent = a_unit("unit 1"), a_unit("unit 2", priority=Priority.URGENT)
    emergency = a_unit("unit 3", priority=Priority.EMERGENCY)

    assert placed(a_ward(routine, urgent, emergency)) == {
        "unit 3": (20, "ana", "bo"),
        "unit 2": (50, "bo", "ana"),
        "unit 1": (80, "bo", "ana"),
    }


def test_the_named_nurse_is_taken_and_who_has_less_to_do_before_who_has_more() -> None:
    nurses = (a_nurse("ana"), a_nurse("bo", beds=frozenset({"2"})), a_nurse("cy"))
    running = a_task("unit 9", Work.FINISH, 200, 5)

    found = placed(
        a_ward(a_unit("unit 1", nurse_id="cy"), a_unit("unit 2"), nurses=nurses, tasks=(running,))
    )

    assert {one: nurse for one, (_, nurse, _) in found.items()} == {"unit 1": "cy", "unit 2": "bo"}


def test_what_was_fixed_by_hand_has_its_place_before_all_others() -> None:
    urgent = a_unit("unit 1", priority=Priority.EMERGENCY)
    fixed = a_unit("unit 2", pin=Pin(at(25), "bo", "ana"))

    assert placed(a_ward(urgent, fixed))["unit 2"] == (25, "bo", "ana")


def test_limits_of_the_ward_put_the_second_start_off() -> None:
    nurses = tuple(a_nurse(name) for name in ("ana", "bo", "cy", "di"))
    units = (a_unit("unit 1"), a_unit("unit 2"))

    def second(rules: WardRules) -> float:
        return placed(a_ward(*units, nurses=nurses, rules=rules))["unit 2"][0]

    assert second(WardRules()) == 20
    assert second(WardRules(most_starts=1)) == 45
    assert second(WardRules(porters=1)) == 40
    assert second(WardRules(issues_per_quarter=1)) == 30


def test_units_under_way_keep_their_nurse_and_their_limit() -> None:
    begun = a_task("unit 9", Work.CHECK_AND_START, 0, 30)
    fetched = a_task("unit 8", Work.COLLECT, 0, 35, staff_id=None)
    nurses = tuple(a_nurse(name) for name in ("ana", "bo", "cy"))

    found = placed(
        a_ward(
            a_unit("unit 1"),
            nurses=nurses,
            tasks=(begun, fetched),
            rules=WardRules(most_starts=1, porters=1),
        )
    )

    assert found == {"unit 1": (55, "bo", "cy")}


def test_work_under_way_that_may_move_makes_room_and_is_laid_near_its_time() -> None:
    movable = a_task("unit 9", Work.RUNNING_CHECK, 40, 5, earliest=at(20), latest=at(55))
    locked = a_task("unit 8", Work.FINISH, 38, 5)
    nobody = a_task("unit 7", Work.RUNNING_CHECK, 40, 5, latest=at(60), staff_id=None)

    plan = list_rule(a_ward(a_unit("unit 1"), tasks=(movable, locked, nobody)))

    assert plan.laid == (LaidTask("unit 9", Work.RUNNING_CHECK, 1, at(45)),)


def test_the_first_of_two_units_leaves_room_for_the_second() -> None:
    """By itself the first could wait for the night to be over; then the second finds no slot."""
    first = a_unit("unit 1", patient_id="p")
    second = a_unit("unit 2", patient_id="p", after="unit 1", gap=span(30), done_by=at(200))
    rules = WardRules(nights=(stretch(0, 40),))

    found = placed(a_ward(first, second, rules=rules))

    assert {one: minute for one, (minute, *_) in found.items()} == {"unit 1": 30, "unit 2": 130}


def test_without_room_for_the_second_the_first_is_planned_all_the_same() -> None:
    first = a_unit("unit 1", patient_id="p")
    second = a_unit("unit 2", patient_id="p", after="unit 1", done_by=at(100))
    third = a_unit("unit 3", patient_id="p", after="unit 2")

    assert list(placed(a_ward(first, second, third))) == ["unit 1"]


def test_a_start_across_somebody_s_checks_is_made_only_where_there_is_no_other() -> None:
    """Every slot lies on work that may move: the unit is planned, and a check finds nobody."""
    nurses = (a_nurse("ana"), a_nurse("bo", may_start=False))
    movable = a_task("unit 9", Work.RUNNING_CHECK, 30, 5, earliest=at(26), latest=at(34))
    unit = a_unit("unit 1", checks=(), pin=Pin(at(20)))

    plan = list_rule(a_ward(unit, nurses=nurses, tasks=(movable,)))

    assert (len(plan.starts), plan.laid) == (1, ())


def test_nobody_else_for_the_second_check_leaves_a_unit_out() -> None:
    assert placed(a_ward(a_unit("unit 1"), nurses=(a_nurse("ana"),))) == {}
    alone = a_ward(a_unit("unit 1"), nurses=(a_nurse("ana"),), terms=replace(TERMS, checkers=1))
    assert placed(alone) == {"unit 1": (20, "ana", None)}


def test_pieces_that_lie_already_stay_unless_a_better_place_is_free() -> None:
    unit = a_unit("unit 1")
    ward = a_ward(unit)
    where = {"unit 1": Placing(at(20), "ana", "bo")}

    moved = draft(ward, where, {("unit 1", Work.END_CHECK, 1): at(120)})

    assert moved == draft(ward, where)


def test_units_that_wait_for_each_other_in_a_ring_are_refused() -> None:
    ring = (a_unit("unit 1", after="unit 2"), a_unit("unit 2", after="unit 1"))

    with pytest.raises(ValueError, match=r"units: expected no ring .*: unit 1, unit 2"):
        in_sequence(ring)


def test_the_most_at_once_counts_what_overlaps_and_not_what_follows() -> None:
    assert most_at_once([stretch(0, 10), stretch(10, 20), stretch(5, 12)]) == 2
    assert most_at_once([]) == 0


def test_a_unit_that_is_here_already_needs_no_porter_and_no_call() -> None:
    here = a_unit("unit 1", is_issued=True, check_by=at(10))

    (start,) = list_rule(a_ward(here, rules=WardRules(porters=0, issues_per_quarter=0))).starts

    assert (start.call_at, start.check_at) == (None, at(0))


def test_work_after_a_start_that_nobody_is_free_for_is_left_out_of_its_checks() -> None:
    busy = a_task("unit 9", Work.FINISH, 88, 5)
    nurses = (a_nurse("ana"), a_nurse("bo", may_start=False))

    (start,) = list_rule(a_ward(a_unit("unit 1"), nurses=nurses, tasks=(busy,))).starts

    assert [one.work for one in start.checks] == [Work.FIRST_CHECK, Work.END_CHECK]
