"""What lies ahead: the load of two hours, the next calls, a nurse's own planned starts."""

from dataclasses import replace

import pytest

from server.domain.words import Component
from server.domain.workload.load import SlotLoad
from server.services.accept_plan import accept_plan
from server.services.actor import Actor
from server.services.change_plan import HandChange, change_plan
from server.services.errors import Forbidden
from server.services.list_planned import Coming, list_planned
from server.services.read_ahead import Ahead, Call, read_ahead
from server.store.plans import PlanWatch, note_watch
from tests.domain.builders import at
from tests.services.charting import Charting
from tests.services.engines import ON_BOTH_ENGINES
from tests.services.people import CHARGE, NURSE, OUTSIDER
from tests.services.planned_ward import fill_ward, keep_list_plan


def chart(charting: Charting) -> None:
    fill_ward(charting)


def _ahead(ward: Charting, minute: float = 30, actor: Actor = NURSE) -> Ahead:
    with ward.store.read() as session:
        return read_ahead(session, actor, "w1", now=at(minute))


def _accepted(ward: Charting) -> str:
    """Bed 5 is checked at 12:00 by Nina with Cleo; the next unit of bed 4 as the list has it."""
    keep_list_plan(ward.store, "a", at(30))
    placed = HandChange("waits", at(120), "nurse-1", "nurse-2")
    with ward.store.write() as session:
        plan = change_plan(session, CHARGE, "a", placed, now=at(30))
        accept_plan(session, CHARGE, plan.id, now=at(30))
    return plan.id


def _coming(ward: Charting, nurse_id: str, actor: Actor = NURSE) -> list[tuple[object, ...]]:
    with ward.store.read() as session:
        found = list_planned(session, actor, nurse_id, ["w1"], now=at(31))
    return [_said(one) for one in found if one.request.id == "waits"]


def _said(one: Coming) -> tuple[object, ...]:
    return (one.at, one.request.bed, one.is_call, one.is_first)


@ON_BOTH_ENGINES
def test_ahead_are_everybodys_minutes_and_the_calls_by_time(ward: Charting) -> None:
    without = _ahead(ward)
    plan_id = _accepted(ward)
    with_plan = _ahead(ward)

    assert (without.has_plan, without.calls, without.broken) == (False, (), ())
    assert {one.staff_id for one in without.people} == {"nurse-1", "nurse-2"}
    assert all(len(one.slots) == 1 for one in without.people)
    idle = next(one for one in without.people if one.staff_id == "nurse-2")
    assert idle.slots == (SlotLoad(),)
    busy = next(one for one in with_plan.people if one.staff_id == "nurse-2")
    assert busy.work > idle.work
    assert with_plan.has_plan
    assert Call(at(104), "5", Component.RED_CELLS) in with_plan.calls
    assert list(with_plan.calls) == sorted(with_plan.calls, key=lambda one: one.at)
    watch = PlanWatch("w1", plan_id, 1, at(30), None, ("bed 5: it was to be called for",))
    with ward.store.write() as session:
        note_watch(session, watch)
    assert _ahead(ward).broken == watch.findings
    with ward.store.write() as session:
        note_watch(session, replace(watch, plan_id="a"))
    assert _ahead(ward).broken == ()


def test_a_nurse_is_told_of_own_calls_starts_and_second_checks(ward: Charting) -> None:
    assert _coming(ward, "nurse-1") == []
    _accepted(ward)

    assert _coming(ward, "nurse-1") == [(at(104), "5", True, True)]
    assert _coming(ward, "nurse-2") == [(at(120), "5", False, False)]

    ward.issue("waits", minute=40)
    assert _coming(ward, "nurse-1") == [(at(120), "5", False, True)]
    assert Call(at(104), "5", Component.RED_CELLS) not in _ahead(ward, 41).calls
    ward.observe(45, "p2")
    ward.start("waits", minute=50)
    assert _coming(ward, "nurse-1") == []


def test_somebody_from_another_ward_learns_nothing_of_what_lies_ahead(ward: Charting) -> None:
    _accepted(ward)

    with pytest.raises(Forbidden):
        _ahead(ward, actor=OUTSIDER)
    with pytest.raises(Forbidden):
        _coming(ward, "nurse-1", OUTSIDER)
