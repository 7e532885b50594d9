"""A proposal asked for on a real ward; and plans in the making, one at a time for each ward."""

from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import timedelta
from importlib.util import find_spec
from threading import Event

import pytest

from server.domain.errors import Invalid
from server.domain.plan.plan import Plan
from server.domain.plan.problem import Pin
from server.domain.plan.proposal import Progress, Status
from server.domain.plan.suppose import BedMoves, MoreUnits, Suppositions
from server.domain.plan.wishes import Wish
from server.domain.words import Component, Priority
from server.services.accept_plan import accept_plan
from server.services.actor import Actor
from server.services.errors import Conflict, Forbidden, NotFound
from server.services.keep_plan import keep_plan
from server.services.make_plan import PlanAsk, Watching, is_searched, make_plan
from server.services.plan_runs import AT_ONCE, KEPT, PlanRuns, Run
from server.services.planning_ground import Asked
from server.store.plans import add_plan
from tests.domain.builders import at
from tests.services.charting import Charting
from tests.services.engines import ON_BOTH_ENGINES
from tests.services.people import CHARGE, MANAGER, NURSE, OUTSIDE_CHARGE
from tests.services.planned_ward import fill_ward, keep_list_plan

ASK = PlanAsk("w1", Asked(), 2.0)
NOW = at(30)


def chart(charting: Charting) -> None:
    fill_ward(charting)


def _made(
    ward: Charting, ask: PlanAsk = ASK, actor: Actor = CHARGE, watching: Watching | None = None
) -> Plan:
    return make_plan(ward.store, actor, ask, now=NOW, watching=watching or Watching())


@ON_BOTH_ENGINES
def test_a_proposal_has_a_start_for_every_unit_and_says_what_each_leaves(ward: Charting) -> None:
    told: list[Progress] = []
    assert is_searched() == (find_spec("ortools") is not None)

    plan = _made(ward, watching=Watching(told.append, Event()))

    assert {one.episode_id for one in plan.proposal.starts} == {"waits", "next"}
    assert all(one.spare_minutes is not None for one in plan.proposal.starts)
    assert plan.proposal.status in (Status.OPTIMAL, Status.FEASIBLE)
    assert (plan.ward_id, plan.made_at, plan.made_by) == ("w1", NOW, CHARGE.id)
    with ward.store.write() as session:
        assert keep_plan(session, CHARGE, plan) == plan


def test_a_proposal_keeps_what_is_being_called_for(ward: Charting) -> None:
    before = keep_list_plan(ward.store, "a", NOW)
    with ward.store.write() as session:
        accept_plan(session, CHARGE, "a", now=NOW)
    first = before.start_of("waits")
    assert first is not None
    assert first.call_at is not None

    later = first.call_at + timedelta(minutes=4)
    plan = make_plan(ward.store, CHARGE, ASK, now=later)

    start = plan.start_of("waits")
    assert start is not None
    assert (start.call_at, start.nurse_id, start.second_id) == (
        first.call_at,
        first.nurse_id,
        first.second_id,
    )


def test_a_proposal_keeps_to_the_wishes_of_the_version_it_is_asked_of(ward: Charting) -> None:
    before = keep_list_plan(ward.store, "a", NOW)
    wish = Wish("waits", Pin(at(180), "nurse-2", "nurse-1"))
    with ward.store.write() as session:
        add_plan(session, replace(before, id="b", wishes=(wish,)))
    gone = Suppositions(moves=(BedMoves("4", at(60)),))

    plan = _made(ward, PlanAsk("w1", Asked(supposed=gone), 2.0, parent_id="b"))

    start = plan.start_of("waits")
    assert start is not None
    assert (start.check_at, start.nurse_id, start.second_id) == (at(180), "nurse-2", "nurse-1")
    assert (plan.parent_id, plan.wishes, plan.supposed) == ("b", (wish,), gone)
    assert plan.start_of("next") is None


@pytest.mark.parametrize(
    ("ask", "field"),
    [
        (replace(ASK, seconds=0), "seconds"),
        (replace(ASK, seconds=61), "seconds"),
        (PlanAsk("w1", Asked(horizon=timedelta(hours=49))), "horizon_minutes"),
        (PlanAsk("w1", Asked(horizon=timedelta(0))), "horizon_minutes"),
        (PlanAsk("w2", Asked(), parent_id="a"), "parent_id"),
    ],
)
def test_what_cannot_be_asked_for_is_refused_by_its_field(
    ward: Charting, ask: PlanAsk, field: str
) -> None:
    keep_list_plan(ward.store, "a", NOW)

    with pytest.raises(Invalid) as refused:
        _made(ward, ask, replace(CHARGE, wards=None))

    assert refused.value.field == field


@pytest.mark.parametrize("actor", [NURSE, MANAGER, OUTSIDE_CHARGE], ids=lambda one: one.id)
def test_only_the_charge_nurse_of_the_ward_asks_for_a_proposal(
    ward: Charting, actor: Actor
) -> None:
    with pytest.raises(Forbidden):
        _made(ward, actor=actor)


# ---- plans in the making ----


@pytest.fixture
def runs() -> Iterator[PlanRuns]:
    opened = PlanRuns()
    yield opened
    opened.close()


def _run(run_id: str, ward_id: str = "w1") -> Run:
    return Run(run_id, ward_id, CHARGE.id, 2.0, NOW)


def _until_stopped(run: Run) -> str:
    assert run.stopping.wait(20)
    return f"plan of {run.id}"


def _failing(failure: Exception) -> Callable[[Run], str]:
    def make(_: Run) -> str:
        raise failure

    return make


def test_a_ward_makes_one_plan_at_a_time_and_whoever_asks_is_told_how_far_it_is(
    runs: PlanRuns,
) -> None:
    first, other = _run("r1"), _run("r2", "w2")
    runs.begin(first, _until_stopped)
    runs.begin(other, _until_stopped)

    with pytest.raises(Conflict, match="a plan of this ward is being made"):
        runs.begin(_run("r3"), _until_stopped)
    told = Progress("comfort", 90, 60, 0.4)
    first.tell(told)
    assert runs.of_ward("w1") is runs.look("r1", "w1") is first
    assert (first.progress, first.is_done) == (told, False)
    first.stopping.set()
    assert first.made.result(20) == "plan of r1"
    assert (runs.of_ward("w1"), runs.of_ward("w2")) == (None, other)
    runs.begin(_run("r4"), lambda _: "at once")
    for run_id, ward_id in (("r1", "w2"), ("none", "w1")):
        with pytest.raises(NotFound):
            runs.look(run_id, ward_id)


def test_a_failure_is_told_to_whoever_looks(runs: PlanRuns) -> None:
    run = _run("r1")
    runs.begin(run, _failing(Conflict("the ward has no policy")))

    assert str(run.made.exception(20)) == "the ward has no policy"
    assert run.is_done


def test_old_runs_are_forgotten(runs: PlanRuns) -> None:
    for number in range(KEPT + 2):
        run = _run(f"r{number}")
        runs.begin(run, lambda run: run.id)
        run.made.result(20)

    with pytest.raises(NotFound):
        runs.look("r0", "w1")
    assert runs.look("r5", "w1").is_done


def test_closing_stops_what_is_made_and_tells_whoever_waits_for_a_turn(runs: PlanRuns) -> None:
    waiting = _run("waiting", f"w{AT_ONCE}")
    begun = [_run(f"r{place}", f"w{place}") for place in range(AT_ONCE)]
    started = [Event() for _ in begun]

    def make(run: Run) -> str:
        started[begun.index(run)].set()
        return _until_stopped(run)

    for run in begun:
        runs.begin(run, make)
    assert all(one.wait(20) for one in started)
    runs.begin(waiting, _until_stopped)

    runs.close()

    assert [run.made.result(20) for run in begun] == [f"plan of {run.id}" for run in begun]
    assert str(waiting.made.exception(20)) == "the board is stopping; ask again"


def test_a_run_whose_turn_comes_while_the_board_stops_is_told(runs: PlanRuns) -> None:
    run = _run("late")
    runs.close()

    runs._make(run, _until_stopped)

    assert str(run.made.exception(0)) == "the board is stopping; ask again"


def test_more_units_are_planned_as_if_they_were_ordered(ward: Charting) -> None:
    more = MoreUnits("9", Component.RED_CELLS, Priority.URGENT, 2, at(60), 280)

    plan = _made(ward, PlanAsk("w1", Asked(supposed=Suppositions(more=(more,))), 2.0))

    starts = [plan.start_of(f"supposed 1 {n}") for n in (1, 2)]
    first, second = (start for start in starts if start is not None)
    assert at(60) <= first.start_at < first.projected_end_at < second.check_at
