"""What a plan moved by hand breaks: each rule, with a start that keeps it and one that does not."""

from dataclasses import replace
from typing import Any

import pytest

from server.domain.plan.consequences import consequences
from server.domain.plan.finding import Finding
from server.domain.plan.problem import Pin, PlanUnit, Problem
from server.domain.plan.proposal import Rule, Start
from server.domain.words import Component
from server.domain.workload.capacity import Collector, Duty, NightRule, WardRules
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

FIRST, SECOND = a_unit("unit 1"), a_unit("unit 2")
ANA, BO, CY = a_nurse("ana"), a_nurse("bo"), a_nurse("cy")


def told(problem: Problem, *starts: Start) -> list[tuple[Rule, str, bool]]:
    """Rule, words and whether it is hard, of each finding."""
    return [(one.rule, one.words, one.is_hard) for one in consequences(problem, starts)]


def test_a_plan_that_breaks_nothing_has_no_consequences() -> None:
    ward = a_ward(FIRST, SECOND)

    assert told(ward, a_start(FIRST, 20), a_start(SECOND, 55, "bo", "ana")) == []


def test_a_start_of_a_unit_that_is_not_in_the_problem_is_left_aside() -> None:
    assert told(a_ward(FIRST), a_start(SECOND, -500)) == []


ALONE: list[tuple[dict[str, Any], dict[str, Any], Rule, str]] = [
    ({"ready_at": at(5)}, {}, Rule.READY, "it cannot be on the ward before 10:25"),
    (
        {"finish_within": span(84)},
        {},
        Rule.FINISH,
        "it would be in 85 min after leaving storage, limit 84",
    ),
    (
        {"is_issued": True, "check_by": at(19)},
        {},
        Rule.START,
        "it is out of storage, and its check has to begin by 10:19",
    ),
    (
        {},
        {"terms": replace(TERMS, start_within=span(24))},
        Rule.START,
        "collection and check take 25 min out of storage, limit 24",
    ),
    (
        {"done_by": at(89), "done_by_rule": "expiry"},
        {},
        Rule.EXPIRY,
        "it is valid until 11:29, and it would be in at 11:30",
    ),
    (
        {"done_by": at(89), "done_by_rule": "sample"},
        {},
        Rule.SAMPLE,
        "the sample is valid until 11:29, and it would be in at 11:30",
    ),
    (
        {"after": "elsewhere", "free_at": at(5), "gap": span(16)},
        {},
        Rule.SEQUENCE,
        "the unit that runs leaves room from 10:21 on",
    ),
    (
        {"after": "elsewhere"},
        {},
        Rule.SEQUENCE,
        "it is not known when the unit before it will be over",
    ),
    (
        {},
        {"rules": WardRules(handovers=(stretch(44, 60),))},
        Rule.HANDOVER,
        "its start would fall into the handover 10:44–11:00",
    ),
    (
        {},
        {"rules": WardRules(nights=(stretch(30, 600),), night_rule=NightRule.REFUSED)},
        Rule.NIGHT,
        "routine, and would start at night, 10:30",
    ),
    ({"forbidden": (stretch(0, 21),)}, {}, Rule.FORBIDDEN, "not wanted 10:00–10:21"),
    ({"pin": Pin(at(25))}, {}, Rule.PIN, "its check was fixed for 10:25"),
    ({}, {"until_at": at(20)}, Rule.HORIZON, "the plan goes from 10:00 to 10:20"),
]


@pytest.mark.parametrize(("unit", "ward", "rule", "words"), ALONE)
def test_a_rule_that_a_start_breaks_by_itself_is_told(
    unit: dict[str, Any], ward: dict[str, Any], rule: Rule, words: str
) -> None:
    one = a_unit("unit 1", **unit)

    found = told(a_ward(one, **ward), a_start(one, 20))

    assert (rule, f"bed 1: {words}", True) in found
    assert {each for each, _, _ in found} <= {rule}


KEPT: list[tuple[dict[str, Any], dict[str, Any]]] = [
    ({"ready_at": at(0)}, {}),
    ({"finish_within": span(85)}, {}),
    ({"is_issued": True, "check_by": at(20)}, {}),
    ({"is_issued": True, "ready_at": at(20), "finish_within": span(1)}, {}),
    ({}, {"terms": replace(TERMS, start_within=span(25))}),
    ({"done_by": at(90), "done_by_rule": "expiry"}, {}),
    ({"done_by": at(90), "done_by_rule": "sample"}, {}),
    ({"after": "elsewhere", "free_at": at(4), "gap": span(16)}, {}),
    ({}, {"rules": WardRules(handovers=(stretch(45, 60), stretch(5, 20)))}),
    ({}, {"rules": WardRules(nights=(stretch(31, 600),), night_rule=NightRule.REFUSED)}),
    (
        {"component": Component.PLATELETS, "at_once": True},
        {"rules": WardRules(nights=(stretch(0, 600),), night_rule=NightRule.REFUSED)},
    ),
    ({"forbidden": (stretch(0, 20), stretch(45, 50))}, {}),
    ({"pin": Pin(at(20), "ana", "bo")}, {}),
    ({}, {"until_at": at(21)}),
]


@pytest.mark.parametrize(("unit", "ward"), KEPT)
def test_a_rule_that_a_start_just_keeps_is_not_told(
    unit: dict[str, Any], ward: dict[str, Any]
) -> None:
    one = a_unit("unit 1", **unit)

    assert told(a_ward(one, **ward), a_start(one, 20)) == []


def people(*nurses: Any, unit: PlanUnit = FIRST, **ward: Any) -> list[tuple[Rule, str, bool]]:
    """What a start at 10:20 by Ana, checked with Bo, breaks with these people on duty."""
    return told(a_ward(unit, nurses=nurses, **ward), a_start(unit, 20))


def test_who_is_away_or_not_trained_is_told_by_name() -> None:
    short = a_nurse("ana", period=stretch(-60, 44))
    resting = a_nurse("ana", breaks=(stretch(40, 50),))
    teaching = a_nurse("bo", duties=(Duty(stretch(0, 25), "teaching"),))
    skilled = a_unit("unit 1", needs=frozenset({"central line"}))

    assert people(short, BO) == [
        (Rule.SHIFTS, "bed 1: Ana Reed is not on duty for the whole of 10:20–10:45", True)
    ]
    assert people(BO) == [
        (Rule.SHIFTS, "bed 1: Ana Reed is not on duty for the whole of 10:20–10:45", True)
    ]
    assert people(resting, BO) == [(Rule.BREAKS, "bed 1: Ana Reed is on a break 10:40–10:50", True)]
    assert people(ANA, teaching) == [
        (Rule.BREAKS, "bed 1: Bo Lind is on another duty (teaching) 10:00–10:25", True)
    ]
    assert people(a_nurse("ana", may_start=False), BO) == [
        (Rule.TRAINING, "bed 1: Ana Reed is not trained for the start", True)
    ]
    assert people(ANA, BO, unit=skilled) == [
        (Rule.TRAINING, "bed 1: Ana Reed is not trained for the start", True)
    ]
    assert people(ANA, a_nurse("bo", may_second=False)) == [
        (Rule.SECOND, "bed 1: Bo Lind is not trained for the second check", True)
    ]


def test_other_people_than_those_fixed_by_hand_are_told() -> None:
    unit = a_unit("unit 1", pin=Pin(None, "bo", "cy"))

    assert sorted(people(ANA, BO, CY, unit=unit)) == [
        (Rule.PIN, "bed 1: Bo Lind was fixed for the start, not Ana Reed", True),
        (Rule.PIN, "bed 1: Cy Moss was fixed for the second check, not Bo Lind", True),
    ]


def test_two_different_people_have_to_check() -> None:
    ward = a_ward(FIRST)

    assert told(ward, a_start(FIRST, 20, "ana", None)) == [
        (Rule.SECOND, "bed 1: nobody is named for the second check", True)
    ]
    assert told(ward, a_start(FIRST, 20, "ana", "ana")) == [
        (Rule.SECOND, "bed 1: the second checker has to be somebody other than the first", True)
    ]
    alone = a_ward(FIRST, terms=replace(TERMS, checkers=1))
    assert told(alone, a_start(FIRST, 20, "ana", None)) == []


def test_units_of_one_patient_follow_each_other() -> None:
    first = a_unit("unit 1", patient_id="p")
    second = a_unit("unit 2", patient_id="p", bed="1", after="unit 1", gap=span(30))
    ward = a_ward(first, second)
    name = "bed 1, unit 2 of 2"

    assert told(ward, a_start(first, 20), a_start(second, 120)) == []
    assert told(ward, a_start(first, 20), a_start(second, 115)) == [
        (Rule.SEQUENCE, f"{name}: the unit before it leaves room from 12:00 on", True)
    ]
    assert told(ward, a_start(second, 120)) == [
        (Rule.SEQUENCE, f"{name}: the unit before it has no start", True)
    ]


def test_one_person_at_two_things_is_told_with_both_beds() -> None:
    running = a_task("unit 9", Work.RUNNING_CHECK, 30, 5)
    nobody = a_task("unit 8", Work.RUNNING_CHECK, 30, 5, staff_id=None)
    ward = a_ward(FIRST, SECOND, tasks=(running, nobody))

    found = consequences(ward, [a_start(FIRST, 20)])

    assert found == (
        Finding(
            Rule.NURSES,
            ("unit 9", "unit 1"),
            ("ana",),
            stretch(30, 35),
            "Ana Reed: running check bed 9 and two-person check and start bed 1 collide"
            " 10:30–10:35",
        ),
    )
    assert [
        words
        for _, words, _ in told(
            a_ward(FIRST, SECOND), a_start(FIRST, 20), a_start(SECOND, 25, "bo", "ana")
        )
    ] == [
        "Bo Lind: second check bed 1 and two-person check and start bed 2 collide 10:25–10:30",
        "Ana Reed: two-person check and start bed 1 and second check bed 2 collide 10:25–10:35",
    ]


def test_a_nurse_who_fetches_a_unit_is_busy_from_the_call_on() -> None:
    rules = WardRules(collected_by=Collector.NURSE, porters=1)
    ward = a_ward(FIRST, SECOND, rules=rules, tasks=(a_task("unit 9", Work.FINISH, 10, 5),))

    assert [rule for rule, _, _ in told(ward, a_start(FIRST, 20))] == [Rule.NURSES]


def test_what_nobody_is_free_for_may_be_accepted_by_who_knows_of_it() -> None:
    unlaid = a_start(FIRST, 20, checks=())

    assert told(a_ward(FIRST), unlaid) == [
        (Rule.NURSES, "bed 1: Ana Reed has no time for the first check at 10:45", False),
        (Rule.NURSES, "bed 1: Ana Reed has no time for the take-down at 11:30", False),
        (Rule.NURSES, "bed 1: Ana Reed has no time for the end observations at 11:45", False),
    ]


def test_a_routine_start_in_an_avoided_night_may_be_accepted_too() -> None:
    avoided = WardRules(nights=(stretch(30, 600),))
    allowed = replace(avoided, night_rule=NightRule.ALLOWED)

    assert told(a_ward(FIRST, rules=avoided), a_start(FIRST, 20)) == [
        (Rule.NIGHT, "bed 1: routine, and would start at night, 10:30", False)
    ]
    assert told(a_ward(FIRST, rules=allowed), a_start(FIRST, 20)) == []
