"""Why a unit stands where it does, and what would let in one that found no place."""

from dataclasses import replace

from server.domain.plan.laying import Draft
from server.domain.plan.list_rule import list_rule
from server.domain.plan.problem import Pin, Problem
from server.domain.plan.proposal import Rule
from server.domain.workload.capacity import WardRules
from server.planning.explain import FAMILY, WAY_OUT, why, why_unplaced
from tests.domain.builders import at
from tests.domain.small_wards import a_nurse, a_unit, a_ward, stretch


def reasons(problem: Problem, plan: Draft | None = None) -> dict[str, tuple[str, ...]]:
    """Why, by unit."""
    made = plan or list_rule(problem)
    return {start.episode_id: why(problem, made, start) for start in made.starts}


def test_each_start_is_explained_by_the_slot_before_it() -> None:
    handover = WardRules(handovers=(stretch(40, 70),))
    first, second = a_unit("unit 1"), a_unit("unit 2", ready_at=at(20))

    assert reasons(a_ward(first)) == {"unit 1": ("bed 1: it cannot be on the ward before 10:20",)}
    assert reasons(a_ward(second, rules=handover)) == {
        "unit 2": ("bed 2: its start would fall into the handover 10:40–11:10",)
    }
    assert reasons(a_ward(a_unit("unit 3", pin=Pin(at(60))))) == {
        "unit 3": ("bed 3: fixed by hand",)
    }


def test_who_is_busy_is_named_with_the_bed_and_the_time() -> None:
    first, second = a_unit("unit 1", checks=()), a_unit("unit 2", checks=())

    assert reasons(a_ward(first, second))["unit 2"] == (
        "Ana Reed: two-person check and start bed 1 and second check bed 2 collide 10:40–10:45",
        "no two other people are free for it at 10:40",
    )


def test_a_start_that_could_be_earlier_says_what_that_would_cost_or_that_it_costs_nothing() -> None:
    unit = a_unit("unit 1")
    ward = a_ward(unit)
    late = list_rule(replace(ward, units=(replace(unit, pin=Pin(at(60), "ana", "bo")),)))
    night = replace(
        ward, capacity=replace(ward.capacity, rules=WardRules(nights=(stretch(0, 70),)))
    )

    assert reasons(ward, late) == {"unit 1": ("10:55 by Ana Reed would do as well",)}
    assert reasons(night, late) == {
        "unit 1": (
            "at 10:55 by Ana Reed 60 minutes more of work would find nobody free, nights counted",
        )
    }


def test_rules_that_only_together_keep_a_unit_out_are_named_together() -> None:
    pair = WardRules(most_starts=0, porters=0)
    (both,) = why_unplaced(a_ward(a_unit("unit 1"), rules=pair), Draft(()))
    assert both.rules == (Rule.MOST_STARTS, Rule.PORTERS)
    assert both.relaxed == ()
    assert both.reason == (
        "bed 1: no place is left; in the way are the limit of starts at once and the porters"
        " together"
    )
    three = WardRules(most_starts=0, porters=0, issues_per_quarter=0)
    (more,) = why_unplaced(a_ward(a_unit("unit 1"), rules=three), Draft(()))
    assert (more.rules, more.reason) == (
        (),
        "bed 1: no place is left, and more than two rules together stand in the way",
    )


def test_a_limit_of_the_policy_is_named_and_never_offered_as_a_way_out() -> None:
    unit = a_unit("unit 1", done_by=at(60))

    (found,) = why_unplaced(a_ward(unit, nurses=(a_nurse("ana"), a_nurse("bo"))), Draft(()))

    assert (found.rules, found.relaxed) == ((Rule.EXPIRY,), ())
    assert found.reason == "bed 1: it is valid until 11:00, and it would be in at 11:30"


def test_every_family_has_words() -> None:
    assert set(FAMILY) == set(Rule)
    assert set(WAY_OUT) < set(Rule)
