"""A plan put in force, changed by hand, discarded, looked at; and who may do none of it."""

from collections.abc import Callable
from dataclasses import replace

import pytest

from server.domain.errors import Invalid
from server.domain.plan.plan import Plan
from server.domain.plan.problem import Pin
from server.domain.plan.proposal import Rule
from server.domain.plan.suppose import Leaves, Suppositions
from server.domain.plan.wishes import Wish
from server.domain.words import Level
from server.domain.workload.load import SLOT
from server.domain.workload.period import Period
from server.services.accept_plan import accept_plan, discard_plan
from server.services.actor import Actor
from server.services.change_plan import HandChange, change_plan
from server.services.errors import Conflict, Forbidden, NotFound
from server.services.read_plan import PlanLook, look_at_plan
from server.services.read_workload import read_workload
from server.store.plans import add_plan, read_plan
from server.store.sessions import Change, WriteSession
from tests.domain.builders import at
from tests.services.charting import Charting
from tests.services.engines import ON_BOTH_ENGINES
from tests.services.people import CHARGE, MANAGER, NURSE, OUTSIDE_CHARGE, OUTSIDER, PROGRAM
from tests.services.planned_ward import fill_ward, keep_list_plan

NOW = at(30)


def chart(charting: Charting) -> None:
    fill_ward(charting)


def _accept(ward: Charting, plan_id: str, minute: float = 30, actor: Actor = CHARGE) -> Plan:
    with ward.store.write() as session:
        return accept_plan(session, actor, plan_id, now=at(minute))


def _change(ward: Charting, plan_id: str, change: HandChange, actor: Actor = CHARGE) -> Plan:
    with ward.store.write() as session:
        return change_plan(session, actor, plan_id, change, now=NOW)


def _look(ward: Charting, plan_id: str | None = None, minute: float = 30) -> PlanLook:
    with ward.store.read() as session:
        return look_at_plan(session, MANAGER, "w1", plan_id, now=at(minute))


def _reasons(ward: Charting, minute: float = 31) -> dict[str, str]:
    rows = [row.picture for row in ward.board(minute).rows]
    return {
        row.case.request.id: row.urgency.reason
        for row in rows
        if row.urgency.level is Level.WAITING
    }


@ON_BOTH_ENGINES
def test_an_accepted_plan_is_in_force_and_the_board_says_when_to_call(ward: Charting) -> None:
    plan = keep_list_plan(ward.store, "a", NOW)
    heard: list[tuple[Change, ...]] = []
    ward.store.on_commit(heard.append)

    accepted = _accept(ward, "a")
    again = _accept(ward, "a", 35)

    assert accepted == again == replace(plan, accepted_at=NOW, accepted_by=CHARGE.id)
    assert [one.episode_ids for change in heard for one in change] == [{"waits", "next"}]
    start = plan.start_of("waits")
    assert start is not None
    assert start.call_at is not None
    assert _reasons(ward)["waits"] == (
        f"Requested, not yet ready; call at {start.call_at:%H:%M}, "
        f"start at {start.start_at:%H:%M} leaves 2 h 27 to spare."
    )
    assert {row.picture.case.planned for row in ward.board(31, known_at=29, at=29).rows} == {None}


def test_a_discarded_plan_gives_way_to_the_one_before(ward: Charting) -> None:
    keep_list_plan(ward.store, "a", NOW)
    _accept(ward, "a")
    later = _change(ward, "a", HandChange("waits", check_at=at(120)))
    _accept(ward, later.id, 32)
    start = later.start_of("waits")
    assert start is not None
    assert start.call_at is not None
    assert f"call at {start.call_at:%H:%M}" in _reasons(ward, 33)["waits"]

    with ward.store.write() as session:
        discarded = discard_plan(session, CHARGE, later.id, now=at(34))
        again = discard_plan(session, CHARGE, later.id, now=at(35))

    assert discarded.discarded_at == again.discarded_at == at(34)
    in_force = _look(ward, minute=36).plan
    assert in_force is not None
    assert in_force.id == "a"
    with pytest.raises(Conflict, match="discarded"):
        _accept(ward, later.id, 37)


def test_what_only_is_supposed_is_never_in_force(ward: Charting) -> None:
    plan = keep_list_plan(ward.store, "a", NOW)
    supposed = Suppositions(leaves=(Leaves("nurse-2", at(60)),))
    with ward.store.write() as session:
        add_plan(session, replace(plan, id="b", supposed=supposed))

    with pytest.raises(Conflict, match="supposes what was never recorded"):
        _accept(ward, "b")
    look = _look(ward, "b")
    assert [one.period.until_at for one in look.ground.problem.capacity.on_duty] == [
        at(600),
        at(60),
    ]


def test_each_change_by_hand_is_a_version_of_its_own(ward: Charting) -> None:
    plan = keep_list_plan(ward.store, "a", NOW)

    moved = _change(ward, "a", HandChange("waits", at(120), "nurse-2", "nurse-1", pinned=True))
    forbidden = _change(ward, moved.id, HandChange("waits", forbidden=Period(at(60), at(90))))
    free = _change(ward, forbidden.id, HandChange("waits", pinned=False, allowed=True))
    out = _change(ward, free.id, HandChange("waits", left_out=True))
    still_out = _change(ward, out.id, HandChange("waits"))
    back = _change(ward, out.id, HandChange("waits", at(125), "nurse-2"))

    start = moved.start_of("waits")
    assert start is not None
    assert (start.check_at, start.nurse_id, start.second_id) == (at(120), "nurse-2", "nurse-1")
    assert moved.start_of("next") == plan.start_of("next")
    pin = Pin(at(120), "nurse-2", "nurse-1")
    assert moved.wishes == (Wish("waits", pin),)
    assert forbidden.wishes == (Wish("waits", pin, (Period(at(60), at(90)),)),)
    assert free.wishes == ()
    assert [one.start_of("waits") for one in (out, still_out)] == [None, None]
    assert back.start_of("waits") is not None
    assert [one.parent_id for one in (moved, forbidden, free)] == ["a", moved.id, forbidden.id]
    assert [one.what for one in (moved, forbidden, free, out, still_out)] == [
        "Bed 5: check at 12:00, given to Cleo Colleague, Nina Nurse checks, fixed",
        "Bed 5: not from 11:00 to 11:30",
        "Bed 5: let go, any time",
        "Bed 5: left out",
        "Bed 5: as it was",
    ]


@pytest.mark.parametrize(
    ("change", "field"),
    [
        (HandChange("running", at(60)), "episode_id"),
        (HandChange("waits", nurse_id="nurse-9"), "nurse_id"),
        (HandChange("waits", second_id="nurse-9"), "second_id"),
        (HandChange("waits", at(10)), "check_at"),
        (HandChange("waits", forbidden=Period(at(90), at(90))), "forbidden_until"),
    ],
)
def test_what_cannot_be_changed_is_refused_by_its_field(
    ward: Charting, change: HandChange, field: str
) -> None:
    keep_list_plan(ward.store, "a", NOW)

    with pytest.raises(Invalid) as refused:
        _change(ward, "a", change)

    assert refused.value.field == field


@pytest.mark.parametrize(
    ("change", "field"),
    [
        (HandChange("waits", nurse_id="nurse-1"), "check_at"),
        (HandChange("waits", at(60)), "nurse_id"),
    ],
)
def test_a_unit_without_a_start_needs_a_time_and_a_nurse(
    ward: Charting, change: HandChange, field: str
) -> None:
    keep_list_plan(ward.store, "a", NOW)
    out = _change(ward, "a", HandChange("waits", left_out=True))

    with pytest.raises(Invalid) as refused:
        _change(ward, out.id, change)

    assert refused.value.field == field


def test_a_look_tells_what_a_change_breaks_and_how_it_differs(ward: Charting) -> None:
    keep_list_plan(ward.store, "a", NOW)
    _accept(ward, "a")
    clash = _change(ward, "a", HandChange("waits", at(240), "nurse-1", "nurse-1"))

    look, in_force, none = _look(ward, clash.id), _look(ward), _look(ward, "a")

    rules = {one.rule for one in look.findings if one.is_hard}
    assert {Rule.BREAKS, Rule.SECOND} <= rules
    assert [one.episode_id for one in look.differences] == ["waits"]
    assert look.parent is not None
    assert (look.parent.id, look.worth_in_force) == ("a", in_force.plan and _worth(in_force.plan))
    assert in_force.findings == none.findings
    assert not [one for one in in_force.findings if one.is_hard]
    assert in_force.differences == ()
    assert [one.id for one in in_force.earlier] == ["a"]
    assert [one.id for one in in_force.undecided] == [clash.id]
    assert (in_force.watch, in_force.mends) == (None, None)


def _worth(plan: Plan) -> object:
    return plan.proposal.objective


def test_that_the_instant_of_a_start_has_come_is_no_fault_of_its_plan(ward: Charting) -> None:
    ward.issue("waits", minute=30)
    plan = keep_list_plan(ward.store, "a", NOW)
    start = plan.start_of("waits")
    assert start is not None
    _accept(ward, "a")

    minute = (start.check_at - at(0)).total_seconds() / 60 + 1
    rules = {one.rule for one in _look(ward, minute=minute).findings}
    assert rules.isdisjoint({Rule.READY, Rule.HORIZON})


def test_a_ward_without_a_plan_shows_its_work(ward: Charting) -> None:
    look = _look(ward)

    assert (look.plan, look.findings, look.worth_in_force) == (None, (), None)
    assert {task.episode_id for task in look.workload.tasks} == {"running"}
    assert look.workload.load.period.from_at == at(30)


def test_work_is_read_with_the_plan_in_force_and_slot_by_slot(ward: Charting) -> None:
    keep_list_plan(ward.store, "a", NOW)
    _accept(ward, "a")

    def read(actor: Actor = NURSE) -> object:
        with ward.store.read() as session:
            return read_workload(
                session, actor, "w1", from_at=at(30), until_at=at(90), slot=SLOT, now=at(31)
            )

    work = read()
    with ward.store.read() as session:
        whole = read_workload(
            session, PROGRAM, "w1", from_at=None, until_at=None, slot=SLOT, now=at(31)
        )
    assert {task.episode_id for task in whole.tasks} == {"running", "waits", "next"}
    assert work.load.period == Period(at(30), at(90))  # type: ignore[attr-defined]
    assert len(work.load.slots) == 4  # type: ignore[attr-defined]
    with pytest.raises(Forbidden):
        read(OUTSIDER)


def test_a_plan_of_another_ward_is_not_found_on_this_one(ward: Charting) -> None:
    keep_list_plan(ward.store, "a", NOW)

    everywhere = replace(MANAGER, wards=None)
    with pytest.raises(NotFound), ward.store.read() as session:
        look_at_plan(session, everywhere, "w2", "a", now=NOW)
    with pytest.raises(NotFound):
        _look(ward, "z")


_ACTS: tuple[Callable[[WriteSession, Actor], object], ...] = (
    lambda session, actor: accept_plan(session, actor, "a", now=NOW),
    lambda session, actor: discard_plan(session, actor, "a", now=NOW),
    lambda session, actor: change_plan(session, actor, "a", HandChange("waits"), now=NOW),
)


@pytest.mark.parametrize("actor", [NURSE, MANAGER, PROGRAM, OUTSIDE_CHARGE], ids=lambda one: one.id)
@pytest.mark.parametrize("act", _ACTS, ids=["accept", "discard", "change"])
def test_only_the_charge_nurse_of_the_ward_decides_on_plans(
    ward: Charting, actor: Actor, act: Callable[[WriteSession, Actor], object]
) -> None:
    kept = keep_list_plan(ward.store, "a", NOW)

    with pytest.raises(Forbidden), ward.store.write() as session:
        act(session, actor)

    with ward.store.read() as session:
        assert read_plan(session, "a") == kept
    with pytest.raises(Forbidden), ward.store.read() as session:
        look_at_plan(session, OUTSIDER, "w1", "a", now=NOW)
