"""What no planner can mend, what gives way, and the quick repair."""

from dataclasses import replace
from datetime import datetime
from typing import Any

import pytest

from server.domain.plan.list_rule import list_rule
from server.domain.plan.obstacles import Obstacle, obstacles
from server.domain.plan.problem import Earlier, Pin, Problem
from server.domain.plan.proposal import Rule
from server.domain.plan.relax import LIMITS, RELAX, relaxed
from server.domain.plan.repair import repaired
from server.domain.words import Priority
from server.domain.workload.capacity import Duty, NightRule, WardRules
from tests.domain.builders import at
from tests.domain.small_wards import TERMS, a_nurse, a_unit, a_ward, span, stretch

ANA, BO = a_nurse("ana"), a_nurse("bo")


def test_a_ward_where_every_unit_has_a_slot_has_no_obstacles() -> None:
    assert obstacles(a_ward(a_unit("unit 1"))) == ()


def test_a_unit_that_runs_too_long_is_told_with_the_limit() -> None:
    unit = a_unit("unit 1", finish_within=span(80))

    assert obstacles(a_ward(unit)) == (
        Obstacle(
            "unit 1", (Rule.FINISH,), "bed 1: it would be in 85 min after leaving storage, limit 80"
        ),
    )


def test_of_all_slots_the_one_that_breaks_least_tells_why() -> None:
    """Before 11:00 the handover, after it the expiry; nothing between."""
    unit = a_unit("unit 1", done_by=at(125))
    rules = WardRules(handovers=(stretch(0, 60),))

    (found,) = obstacles(a_ward(unit, rules=rules))

    assert found.rules == (Rule.HANDOVER,)
    assert found.words == "bed 1: its start would fall into the handover 10:00–11:00"


def test_a_start_fixed_by_hand_where_it_cannot_be_is_told() -> None:
    unit = a_unit("unit 1", pin=Pin(at(10)))

    (found,) = obstacles(a_ward(unit))

    assert found.words == "bed 1: it cannot be on the ward before 10:20"


def test_a_plan_without_a_slot_of_the_grid_is_told_as_too_short() -> None:
    unit = a_unit("unit 1", is_issued=True)

    (found,) = obstacles(a_ward(unit, from_at=at(1), until_at=at(4)))

    assert found.rules == (Rule.HORIZON,)
    assert found.words == "bed 1: the plan goes from 10:01 to 10:04"


def test_without_two_people_there_is_nothing_to_plan() -> None:
    unit = a_unit("unit 1")
    untrained = a_nurse("bo", may_start=False)

    (nobody,) = obstacles(a_ward(unit, nurses=(untrained,)))
    (alone,) = obstacles(a_ward(unit, nurses=(ANA,)))

    assert (nobody.rules, alone.rules) == ((Rule.NURSES,), (Rule.SECOND,))
    assert "nobody who may start it" in nobody.words
    assert alone.words == "bed 1: nobody else is there for the second check at any open slot"


ALL_DAY = (stretch(-600, 1200),)
# By family of rules: how its unit differs, and how its ward does.
BLOCKED: dict[Rule, tuple[dict[str, Any], dict[str, Any]]] = {
    Rule.HANDOVER: ({}, {"rules": WardRules(handovers=ALL_DAY)}),
    Rule.NIGHT: ({}, {"rules": WardRules(nights=ALL_DAY, night_rule=NightRule.REFUSED)}),
    Rule.BREAKS: (
        {},
        {"nurses": (a_nurse("ana", duties=(Duty(ALL_DAY[0], "round"),)), BO)},
    ),
    Rule.MOST_STARTS: ({}, {"rules": WardRules(most_starts=0)}),
    Rule.PORTERS: ({}, {"rules": WardRules(porters=0)}),
    Rule.BLOOD_BANK: ({}, {"rules": WardRules(issues_per_quarter=0)}),
    Rule.FORBIDDEN: ({"forbidden": ALL_DAY}, {}),
    Rule.PIN: ({"pin": Pin(at(0))}, {}),
    Rule.SECOND: ({}, {"nurses": (ANA,)}),
    Rule.NURSES: ({}, {"nurses": (a_nurse("bo", may_start=False),)}),
    Rule.TRAINING: ({"needs": frozenset({"central line"})}, {}),
    Rule.SHIFTS: ({}, {"nurses": (ANA, a_nurse("bo", period=stretch(-60, 0)))}),
    Rule.HORIZON: ({}, {"until_at": at(10)}),
    Rule.SEQUENCE: ({"after": "elsewhere"}, {}),
    Rule.EXPIRY: ({"done_by": at(60)}, {}),
    Rule.SAMPLE: ({"done_by": at(60), "done_by_rule": "sample"}, {}),
    Rule.START: ({}, {"terms": replace(TERMS, start_within=span(20))}),
    Rule.FINISH: ({"finish_within": span(30)}, {}),
}


@pytest.mark.parametrize("rule", list(RELAX))
def test_giving_way_in_the_one_family_that_blocks_a_unit_opens_a_place(rule: Rule) -> None:
    unit, changes = BLOCKED[rule]
    ward = a_ward(a_unit("unit 1", **unit), **changes)

    assert list_rule(ward).starts == ()
    assert len(list_rule(relaxed(ward, [rule])).starts) == 1
    assert relaxed(ward, []) == ward


def test_limits_of_the_policy_are_known_as_what_nobody_gives_way_in() -> None:
    assert {
        Rule.READY,
        Rule.FINISH,
        Rule.START,
        Rule.EXPIRY,
        Rule.SAMPLE,
        Rule.SEQUENCE,
    } == LIMITS


def test_a_plan_that_still_holds_is_kept_as_it_is() -> None:
    unit = a_unit("unit 1")
    ward = a_ward(unit, accepted={"unit 1": Earlier(at(60), "bo", "ana")})

    (start,) = repaired(ward).starts

    assert (start.check_at, start.nurse_id, start.second_id) == (at(60), "bo", "ana")


def test_only_what_can_no_longer_stay_is_moved_and_the_urgent_one_stays() -> None:
    """Ana was in two plans at once; a third unit is far from both and a fourth is new."""
    routine, far = a_unit("unit 1"), a_unit("unit 3")
    urgent = a_unit("unit 2", priority=Priority.URGENT)
    accepted = {
        "unit 1": Earlier(at(60), "ana", "bo"),
        "unit 2": Earlier(at(65), "ana", "bo"),
        "unit 3": Earlier(at(200), "bo", "ana"),
        "gone": Earlier(at(20), "bo", "ana"),
    }
    ward = a_ward(routine, urgent, far, a_unit("unit 4"), accepted=accepted)

    found = {one.episode_id: one for one in repaired(ward).starts}

    assert set(found) == {"unit 1", "unit 2", "unit 3", "unit 4"}
    assert (found["unit 2"].check_at, found["unit 3"].check_at) == (at(65), at(200))
    assert found["unit 1"].check_at != at(60)


def test_what_collides_with_work_under_way_gives_way_to_it() -> None:
    unit = a_unit("unit 1")
    away = a_nurse("bo", breaks=(stretch(60, 70),))
    ward = a_ward(unit, nurses=(ANA, away), accepted={"unit 1": Earlier(at(60), "ana", "bo")})

    (start,) = repaired(ward).starts

    assert start.check_at == at(20)


def late_ward(room: int) -> Problem:
    """The first of two units of a patient is ready late; the second was planned at minute 130."""
    first = a_unit("unit 1", patient_id="p", ready_at=at(room))
    second = a_unit("unit 2", patient_id="p", after="unit 1", gap=span(30))
    accepted = {
        "unit 1": Earlier(at(20), "ana", "bo"),
        "unit 2": Earlier(at(130), "ana", "bo"),
    }
    return a_ward(first, second, accepted=accepted)


@pytest.mark.parametrize(("room", "checks"), [(10, (at(30), at(130))), (11, (at(35), at(135)))])
def test_the_unit_after_a_late_one_stays_as_long_as_it_has_its_room(
    room: int, checks: tuple[datetime, datetime]
) -> None:
    assert tuple(start.check_at for start in repaired(late_ward(room)).starts) == checks
