"""What is wished and supposed, what a plan keeps of it, and how two plans differ."""

from dataclasses import replace
from datetime import timedelta

from server.domain.payloads import Available
from server.domain.picture import Case
from server.domain.plan.compare import Difference, differences
from server.domain.plan.plan import Plan, earlier_of
from server.domain.plan.problem import Earlier, Pin, PlanUnit, Problem, Terms
from server.domain.plan.proposal import Maker, Objective, Proposal, Start, Status
from server.domain.plan.suppose import BedMoves, Leaves, MoreUnits, Suppositions, suppose
from server.domain.plan.supposed_units import is_supposed, supposed_pictures
from server.domain.plan.wishes import Wish, keep_wishes, wish_for, with_wish
from server.domain.request import Patient, Request
from server.domain.words import Component, Priority
from server.domain.workload.capacity import Capacity, OnDuty, WardRules
from server.domain.workload.period import Period
from server.domain.workload.task import Task, Work
from tests.domain.builders import at, case, look

MINUTE = timedelta(minutes=1)
TERMS = Terms(
    grid=5 * MINUTE,
    collect=30 * MINUTE,
    carried=10 * MINUTE,
    check=10 * MINUTE,
    watch=15 * MINUTE,
    start_within=30 * MINUTE,
    checkers=2,
    lengths={},
)
UNIT = PlanUnit(
    "e1", "p1", "4", Component.RED_CELLS, Priority.ROUTINE, at(0), 120 * MINUTE, 240 * MINUTE
)
OTHER = replace(UNIT, episode_id="e2", patient_id="p2", bed="7")
CHECK = Task("e9", "4", Work.FIRST_CHECK, 1, "n1", at(40), at(35), at(45), 5 * MINUTE)
PROBLEM = Problem(
    ward_id="w1",
    from_at=at(0),
    until_at=at(480),
    terms=TERMS,
    units=(UNIT, OTHER),
    tasks=(CHECK, replace(CHECK, bed="7"), replace(CHECK, at=at(30))),
    capacity=Capacity(
        "w1",
        at(0),
        (
            OnDuty("s1", "n1", Period(at(0), at(480))),
            OnDuty("s2", "n2", Period(at(60), at(480))),
        ),
        WardRules(),
    ),
)
FORBIDDEN = (Period(at(60), at(90)),)


def test_one_wish_is_kept_for_a_unit_and_an_empty_one_goes() -> None:
    pinned, kept = Wish("e2", Pin(check_at=at(30))), Wish("e1", forbidden=FORBIDDEN)

    wishes = with_wish(with_wish((), pinned), kept)

    assert wishes == (kept, pinned)
    assert with_wish(wishes, Wish("e2", Pin(nurse_id="n1"))) == (
        kept,
        Wish("e2", Pin(nurse_id="n1")),
    )
    assert with_wish(wishes, Wish("e2")) == (kept,)
    assert wish_for(wishes, "e1") is kept
    assert wish_for(wishes, "e3") == Wish("e3")


def test_wishes_reach_their_units_and_no_others() -> None:
    wishes = (Wish("e1", Pin(at(30), "n1", "n2"), FORBIDDEN), Wish("gone", Pin(at(30))))

    kept = keep_wishes(PROBLEM, wishes)

    wished = replace(UNIT, pin=Pin(at(30), "n1", "n2"), forbidden=FORBIDDEN)
    assert kept == replace(PROBLEM, units=(wished, OTHER))


def test_what_is_supposed_changes_the_question() -> None:
    supposed = Suppositions(
        (Leaves("n1", at(240)), Leaves("n2", at(60))),
        (),
        (BedMoves("4", at(35)),),
    )

    asked = suppose(PROBLEM, supposed)

    short = OnDuty("s1", "n1", Period(at(0), at(240)))
    assert asked == replace(
        PROBLEM,
        units=(OTHER,),
        tasks=(replace(CHECK, bed="7"), replace(CHECK, at=at(30))),
        capacity=replace(PROBLEM.capacity, on_duty=(short,)),
    )
    assert not supposed.is_empty


def test_where_nothing_is_supposed_nothing_changes() -> None:
    later = Suppositions(leaves=(Leaves("n1", at(480)),))

    assert suppose(PROBLEM, Suppositions()) == PROBLEM
    assert suppose(PROBLEM, later) == PROBLEM
    assert Suppositions().is_empty


def _start(episode_id: str, minute: int, nurse_id: str = "n1") -> Start:
    return Start(
        episode_id, at(minute - 30), at(minute), at(minute + 10), at(minute + 25),
        at(minute + 130), nurse_id, "n2",
    )  # fmt: skip


def _proposal(*starts: Start) -> Proposal:
    return Proposal(
        "w1", at(0), at(480), Maker.LIST_RULE, Status.FEASIBLE, Objective(0, 0, 0, 0, 0),
        None, None, 0.1, starts, (),
    )  # fmt: skip


def test_a_plan_answers_where_it_put_a_unit() -> None:
    plan = Plan("a", "w1", at(0), "c1", "Asked", _proposal(_start("e1", 60)))

    assert plan.start_of("e1") == _start("e1", 60)
    assert plan.start_of("e2") is None
    assert earlier_of(plan) == {"e1": Earlier(at(60), "n1", "n2")}
    assert earlier_of(None) == {}


def test_two_plans_differ_where_somebody_has_to_act_otherwise() -> None:
    before = _proposal(_start("same", 30), _start("moved", 60), _start("gone", 90))
    after = _proposal(
        replace(_start("same", 30), why=("waits for nobody",)),
        _start("moved", 45),
        _start("new", 50, "n3"),
    )

    assert differences(before, after) == (
        Difference("moved", _start("moved", 60), _start("moved", 45)),
        Difference("new", None, _start("new", 50, "n3")),
        Difference("gone", _start("gone", 90), None),
    )
    assert differences(None, _proposal(_start("e1", 60))) == (
        Difference("e1", None, _start("e1", 60)),
    )
    assert differences(after, after) == ()


def test_supposed_units_are_of_the_patient_in_the_bed_or_of_somebody() -> None:
    there = look(case((0, Available())), at(0))
    bed, patient = there.case.request.bed, there.case.patient
    more = (
        MoreUnits(bed, Component.RED_CELLS, Priority.URGENT, 1, at(20), 280, 120),
        MoreUnits("99", Component.PLATELETS, Priority.ROUTINE, 2, at(30), 240),
    )

    def case_of(request: Request, somebody: Patient) -> Case:
        return replace(there.case, request=request, patient=somebody, events=())

    pictures = supposed_pictures(more, [there], case_of, at(5))

    supposed = Patient("supposed 99", "", "Supposed", "", None)
    assert [one.case.patient for one in pictures] == [patient, supposed, supposed]
    assert [one.case.request for one in pictures] == [
        Request(
            "supposed 1 1", patient.id, "", bed, Component.RED_CELLS, at(5), "", 280,
            priority=Priority.URGENT, not_before=at(20), duration_minutes=120,
        ),
        *(
            Request(
                f"supposed 2 {n}", supposed.id, "", "99", Component.PLATELETS, at(5), "", 240,
                n=n, units=2, not_before=at(30),
            )
            for n in (1, 2)
        ),
    ]  # fmt: skip
    assert all(is_supposed(one.case.request.id) for one in pictures)
    assert not is_supposed(there.case.request.id)
