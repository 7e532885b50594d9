"""An accepted plan is looked at when something changed or is late; what mends it is proposed."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace

import pytest

from server.domain.payloads import Cancelled, Issued, ReactionSuspected
from server.domain.plan.plan import Plan
from server.domain.plan.proposal import Maker
from server.planning.solve import available
from server.services.accept_plan import accept_plan, discard_plan
from server.services.actor import SYSTEM
from server.services.watch_plans import watch_plans
from server.store.plans import PlanWatch, read_plan, read_watches
from server.store.sessions import Change, WriteSession
from server.store.store import Store
from server.store.wards import read_ward, set_plan
from tests.domain.builders import at
from tests.services.charting import Charting
from tests.services.engines import ON_BOTH_ENGINES
from tests.services.people import CHARGE
from tests.services.planned_ward import fill_ward, keep_list_plan


def chart(charting: Charting) -> None:
    fill_ward(charting)


@pytest.fixture
def accepted(ward: Charting) -> Plan:
    """The list rule's plan of 10:30, in force."""
    keep_list_plan(ward.store, "a", at(30))
    with ward.store.write() as session:
        return accept_plan(session, CHARGE, "a", now=at(30))


def _watched(ward: Charting) -> PlanWatch:
    with ward.store.read() as session:
        return read_watches(session, ["w1"])["w1"]


def _looks(ward: Charting, *minutes: float) -> list[int]:
    return [watch_plans(ward.store, now=at(minute)) for minute in minutes]


def _plan(ward: Charting, plan_id: str | None) -> Plan:
    assert plan_id is not None
    with ward.store.read() as session:
        plan = read_plan(session, plan_id)
    assert plan is not None
    return plan


def test_a_ward_without_a_plan_is_not_looked_at(ward: Charting) -> None:
    assert _looks(ward, 30, 31) == [0, 0]
    with ward.store.write() as session:
        set_plan(session, "w1", "discarded meanwhile")

    assert _looks(ward, 32) == [1]
    with ward.store.read() as session:
        assert read_watches(session, ["w1"]) == {}


@ON_BOTH_ENGINES
def test_a_plan_that_holds_is_looked_at_once_until_something_happens(
    ward: Charting, accepted: Plan
) -> None:
    assert _looks(ward, 31, 32) == [1, 0]

    watch = _watched(ward)
    assert (watch.plan_id, watch.findings, watch.repair_id) == (accepted.id, (), None)
    ward.observe(33)
    assert _looks(ward, 33, 34) == [1, 0]
    assert watch.next_look_at is not None
    late = (watch.next_look_at - at(0)).total_seconds() / 60
    assert _looks(ward, late - 1 / 60) == [0]


def test_a_call_that_was_not_made_is_told_and_mended(ward: Charting, accepted: Plan) -> None:
    heard: list[tuple[Change, ...]] = []
    ward.store.on_commit(heard.append)

    assert _looks(ward, 60, 60.5) == [1, 0]

    watch = _watched(ward)
    first, _ = sorted(accepted.proposal.starts, key=lambda start: start.check_at)
    assert first.call_at is not None
    assert watch.findings == (
        f"bed 5: it was to be called for at {first.call_at:%H:%M}, and is not issued",
    )
    mended = _plan(ward, watch.repair_id)
    assert (mended.repairs, mended.parent_id, mended.made_by) == ("a", "a", SYSTEM.id)
    moved = mended.start_of("waits")
    assert moved is not None
    assert moved.call_at is not None
    assert moved.call_at >= at(60)
    assert moved.why
    assert [one.ward_id for change in heard for one in change] == ["w1"]
    # Nothing of the plan in force has changed by itself.
    assert _plan(ward, "a") == accepted


@pytest.mark.usefixtures("accepted")
def test_the_same_repair_is_proposed_once_also_when_it_was_left(ward: Charting) -> None:
    _looks(ward, 60)
    proposed = _watched(ward).repair_id
    with ward.store.write() as session:
        discard_plan(session, CHARGE, _plan(ward, proposed).id, now=at(60.5))
        session.touch("w1")

    assert _looks(ward, 61) == [1]
    assert _watched(ward).repair_id == proposed

    ward.record(61.5, Cancelled("ordered twice"), "waits")
    assert _looks(ward, 62) == [1]
    assert _watched(ward).findings == ("bed 5: the unit was cancelled or sent back",)
    mended = _plan(ward, _watched(ward).repair_id)
    assert [start.episode_id for start in mended.proposal.starts] == ["next"]


def test_what_was_begun_as_planned_breaks_nothing(ward: Charting, accepted: Plan) -> None:
    start = accepted.start_of("waits")
    assert start is not None
    assert start.call_at is not None
    ward.record(start.call_at, Issued(), "waits")
    ward.start("waits", minute=(start.start_at - at(0)).total_seconds() / 60)

    assert _looks(ward, 90) == [1]
    assert "bed 5" not in " ".join(_watched(ward).findings)


def test_a_reaction_holds_the_next_unit_of_the_patient(ward: Charting, accepted: Plan) -> None:
    ward.record(32, ReactionSuspected(("rash",)), "running")

    assert _looks(ward, 33) == [1]
    assert _watched(ward).findings == (
        "bed 4: a reaction is suspected, and how it goes on is decided at the bedside",
    )
    assert accepted.start_of("next") is not None


def test_an_accepted_repair_is_looked_at_anew(ward: Charting, accepted: Plan) -> None:
    _looks(ward, 60)
    mended = _plan(ward, _watched(ward).repair_id)
    with ward.store.write() as session:
        accept_plan(session, CHARGE, mended.id, now=at(61))

    assert _looks(ward, 62) == [1]
    assert _watched(ward).plan_id == mended.id != accepted.id
    assert _watched(ward).findings == ()


@pytest.mark.skipif(not available(), reason="OR-TOOLS IS NOT INSTALLED: nothing is searched")
def test_a_search_proposes_what_is_better_and_that_stays_proposed(
    ward: Charting, accepted: Plan
) -> None:
    assert watch_plans(ward.store, now=at(60), seconds=1) == 1

    searched = _plan(ward, _watched(ward).repair_id)
    quick = accepted.start_of("waits")
    found = searched.start_of("waits")
    assert quick is not None
    assert found is not None
    assert (searched.proposal.made_by, found.nurse_id) == (Maker.SOLVER, "nurse-1")
    assert searched.repairs == accepted.id

    ward.observe(60.5)
    assert watch_plans(ward.store, now=at(61), seconds=1) == 1
    assert _watched(ward).repair_id == searched.id


@pytest.mark.usefixtures("accepted")
def test_where_a_search_finds_the_same_the_quick_repair_stays(ward: Charting) -> None:
    ward.open("more", "p1", now=40)

    assert watch_plans(ward.store, now=at(60), seconds=0.5) == 1

    assert _plan(ward, _watched(ward).repair_id).proposal.made_by is Maker.LIST_RULE


@pytest.mark.usefixtures("accepted")
def test_what_was_searched_for_too_long_is_not_proposed(ward: Charting) -> None:
    store = _Overtaken(ward.store.address, before=2)

    assert watch_plans(store, now=at(60), seconds=0.2) == 1

    assert _plan(ward, _watched(ward).repair_id).proposal.made_by is Maker.LIST_RULE
    store.close()


class _Overtaken(Store):
    """A database in which somebody else writes just before a certain write."""

    def __init__(self, address: str, *, before: int = 1) -> None:
        super().__init__(address)
        self._before = before

    @contextmanager
    def write(self) -> Iterator[WriteSession]:
        self._before -= 1
        if self._before == 0:
            with super().write() as session:
                session.touch("w1")
        with super().write() as session:
            yield session


def test_what_is_recorded_meanwhile_is_looked_at_the_next_time(
    ward: Charting, accepted: Plan
) -> None:
    store = _Overtaken(ward.store.address)

    assert watch_plans(store, now=at(31)) == 1
    with store.read() as session:
        assert read_watches(session, ["w1"]) == {}
        assert read_ward(session, "w1") is not None
    assert watch_plans(store, now=at(32)) == 1
    assert _watched(replace(ward, store=store)).plan_id == accepted.id
    store.close()
