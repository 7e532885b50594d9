"""Plans, training, duties and limits as they are kept, on both engines."""

from dataclasses import replace
from datetime import time

import pytest

from server.domain.plan.plan import Plan
from server.domain.plan.problem import Pin
from server.domain.plan.proposal import (
    Maker,
    Objective,
    PlannedCheck,
    Proposal,
    Relaxed,
    Rule,
    Start,
    Status,
    Unplaced,
)
from server.domain.plan.suppose import BedMoves, Leaves, MoreUnits, Suppositions
from server.domain.plan.wishes import Wish
from server.domain.words import Component, Priority, Role
from server.domain.workload.capacity import Collector, Duty, NightRule, WallWindow, WardLimits
from server.domain.workload.period import Period
from server.domain.workload.task import Work
from server.store.errors import Clash
from server.store.plans import (
    PlanWatch,
    accepted_plans,
    add_plan,
    forget_unaccepted,
    mark_accepted,
    mark_discarded,
    note_watch,
    plan_in_force,
    read_plan,
    read_plans,
    read_watches,
    undecided_plans,
)
from server.store.shifts import Shift, save_shift
from server.store.staff import Staff, save_staff
from server.store.store import Store
from server.store.training import (
    ShiftWork,
    Training,
    read_shift_work,
    read_training,
    remove_shift_work,
    save_shift_work,
    save_training,
)
from server.store.ward_limits import limits_at, save_limits
from server.store.wards import Ward
from tests.domain.builders import at

START = Start(
    "e1", at(0), at(30), at(40), at(55), at(160), "n1", "n2",
    (PlannedCheck(Work.RUNNING_CHECK, 1, at(115)),), ("waits for the first check in bed 4",),
)  # fmt: skip
LEFT_OUT = Unplaced(
    "e2", (Rule.SECOND, Rule.BREAKS), "no second checker", (Relaxed(Rule.SECOND, at(45), "10:45"),)
)
PROPOSAL = Proposal(
    ward_id="w1",
    from_at=at(0),
    until_at=at(480),
    made_by=Maker.SOLVER,
    status=Status.FEASIBLE,
    objective=Objective(1, 2, 3, 4, 5),
    bound=Objective(1, 2, 3, 4, 4),
    gap_percent=12.5,
    seconds=1.75,
    starts=(START,),
    unplaced=(LEFT_OUT,),
)
PLAN = Plan(
    id="a",
    ward_id="w1",
    made_at=at(0),
    made_by="n1",
    what="Asked for a proposal",
    proposal=PROPOSAL,
    wishes=(Wish("e1", Pin(at(30), "n1", None), (Period(at(60), at(90)),)),),
    supposed=Suppositions(
        (Leaves("n2", at(100)),),
        (MoreUnits("7", Component.PLATELETS, Priority.URGENT, 2, at(20), 240.5),),
        (BedMoves("4", at(30)),),
    ),
)
BARE = Plan("b", "w1", at(5), "n1", "Moved bed 4", replace(PROPOSAL, bound=None, gap_percent=None))


@pytest.fixture(autouse=True)
def _people(store: Store, ward: Ward) -> None:
    with store.write() as session:
        save_staff(session, Staff("n1", "Nia", Role.BEDSIDE_NURSE, frozenset({ward.id})))
        save_shift(session, Shift("s1", "n1", ward.id, at(0), at(480)))


def test_a_plan_is_kept_whole(store: Store) -> None:
    with store.write() as session:
        add_plan(session, PLAN)
        add_plan(session, BARE)

    with store.read() as session:
        assert read_plans(session, ["a", "b", "c"]) == {"a": PLAN, "b": BARE}
        assert read_plan(session, "c") is None
    with pytest.raises(Clash), store.write() as session:
        add_plan(session, replace(PLAN, ward_id="nowhere", id="d"))


def test_the_latest_accepted_plan_is_in_force_until_it_is_discarded(store: Store) -> None:
    again = replace(BARE, id="c", made_at=at(6))
    with store.write() as session:
        for plan in (PLAN, BARE, again):
            add_plan(session, plan)
        mark_accepted(session, PLAN, at=at(10), by="n1")
    with store.write() as session:
        mark_accepted(session, BARE, at=at(20), by="n2")
        mark_discarded(session, "b", at=at(30))
    first = replace(PLAN, accepted_at=at(10), accepted_by="n1")
    second = replace(BARE, accepted_at=at(20), accepted_by="n2", discarded_at=at(30))

    with store.read() as session:
        in_force = [plan_in_force(session, "w1", at(minute)) for minute in (9, 10, 19, 20, 29, 30)]
        assert in_force == [None, first, first, second, second, first]
        assert accepted_plans(session, "w1") == (second, first)
        assert undecided_plans(session, "w1", at(0), limit=5) == (again,)
        assert undecided_plans(session, "w1", at(7), limit=5) == ()
        assert accepted_plans(session, "w1", limit=1) == (second,)


def test_of_two_accepted_in_one_second_the_later_is_in_force(store: Store) -> None:
    later = replace(PLAN, id="0")
    for plan in (PLAN, later):
        with store.write() as session:
            add_plan(session, plan)
            mark_accepted(session, plan, at=at(10), by="n1")

    with store.read() as session:
        in_force = plan_in_force(session, "w1", at(10))
        assert in_force == replace(later, accepted_at=at(10), accepted_by="n1")


def test_what_was_never_in_force_is_forgotten_unless_it_mends_a_plan(store: Store) -> None:
    with store.write() as session:
        for plan in (PLAN, BARE, replace(BARE, id="c"), replace(BARE, id="d", made_at=at(90))):
            add_plan(session, plan)
        mark_accepted(session, PLAN, at=at(10), by="n1")
        watch = PlanWatch("w1", "a", 7, at(11), at(15), ("Nia is away",), "b")
        note_watch(session, watch)
        note_watch(session, replace(watch, revision=8))

        assert forget_unaccepted(session, at(60)) == 1
        assert set(read_plans(session, ["a", "b", "c", "d"])) == {"a", "b", "d"}
        assert read_watches(session, ["w1", "w2"]) == {"w1": replace(watch, revision=8)}


def test_training_and_the_work_of_a_shift_are_kept(store: Store) -> None:
    only_second = Training(may_start=False, skills=frozenset({"children", "ports"}))
    work = ShiftWork(frozenset({"4", "5"}), (Duty(Period(at(60), at(90)), "round"),))
    with store.write() as session:
        save_training(session, "n1", Training())
        save_training(session, "n1", only_second)
        save_shift_work(session, "s1", work)

        assert read_training(session, ["n1", "n2"]) == {"n1": only_second}
        assert read_shift_work(session, ["s1", "s2"]) == {"s1": work}
        remove_shift_work(session, "s1")
        assert read_shift_work(session, ["s1"]) == {}


def test_limits_hold_from_an_instant_on(store: Store) -> None:
    few = WardLimits(
        handovers=(WallWindow(time(7), time(7, 30)),),
        night_rule=NightRule.REFUSED,
        most_starts=2,
        collected_by=Collector.NURSE,
        porters=1,
        issues_per_quarter=3,
        use_learnt=True,
    )
    with store.write() as session:
        save_limits(session, "w1", WardLimits(most_starts=9), from_at=at(10), by="n1")
        save_limits(session, "w1", few, from_at=at(10), by="n1")
        save_limits(session, "w1", WardLimits(porters=4), from_at=at(20), by="n1")

        held = [limits_at(session, "w1", at(minute)) for minute in (9, 10, 19, 20)]
        assert held == [WardLimits(), few, few, WardLimits(porters=4)]
