"""Vital signs and giving sets belong to the patient: one fact, several units."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest

from server.domain.errors import Invalid
from server.domain.payloads import Completed, Issued, SetChanged, SetHung
from server.domain.words import ClockState, Component
from server.services.actor import Actor
from server.services.errors import Forbidden, NotFound
from server.services.record_event import Recorded
from server.store.log import read_event
from server.store.sessions import Change
from tests.domain.builders import FULL, PARTIAL, at
from tests.services.charting import Charting
from tests.services.engines import ON_BOTH_ENGINES
from tests.services.people import (
    ADMINISTRATOR,
    CHARGE,
    MANAGER,
    NURSE,
    OUTSIDER,
    P2,
    PROGRAM,
    register,
)


@ON_BOTH_ENGINES
def test_one_set_serves_every_unit_whose_window_holds_it(charting: Charting) -> None:
    """The end of the first unit, and the baseline of the second."""
    charting.run("e1")
    charting.record(100, Completed(), "e1")
    charting.open("e2")
    charting.issue("e2", minute=95)

    recorded = charting.observe(105)
    charting.start("e2", minute=120)

    assert charting.clocks("e1")["end_check:1"].met_at == at(105)
    assert charting.clocks("e2")["baseline_check:1"].met_at == at(105)
    assert charting.state("e1").revision == recorded.revision
    assert charting.rebuild(120).differed == ()


@pytest.mark.parametrize("posted", ["e1", "e2", None], ids=["first", "second", "patient"])
def test_it_is_the_same_wherever_it_is_charted(charting: Charting, posted: str | None) -> None:
    charting.run("e1")
    charting.run("e2")

    recorded = charting.observe(25) if posted is None else charting.record(25, FULL, posted)

    assert [charting.clock_states(one)["first_check:1"] for one in ("e1", "e2")] == [
        ClockState.MET
    ] * 2
    assert [charting.state(one).revision for one in ("e1", "e2")] == [recorded.revision] * 2


def test_it_concerns_no_unit_of_another_patient(charting: Charting) -> None:
    charting.run("e1", "p1")
    charting.run("e2", "p2")
    before = charting.state("e2")
    before_sets = charting.episode(25, "e2").observations

    charting.observe(25, "p1")

    assert charting.state("e2") == before
    assert charting.episode(25, "e2").observations == before_sets


def test_a_partial_set_is_kept_and_meets_nothing(charting: Charting) -> None:
    charting.run()

    charting.observe(25, observed=PARTIAL)

    assert charting.clock_states()["first_check:1"] is ClockState.DUE
    assert charting.episode(26).observations[-1].payload == PARTIAL


def test_a_set_reaches_a_unit_on_another_ward_and_tells_both(charting: Charting) -> None:
    charting.run("e1")
    charting.open("e2", ward_id="w2")
    heard: list[tuple[Change, ...]] = []
    charting.store.on_commit(heard.append)

    charting.observe(25)

    ((one, other),) = heard
    assert {one.ward_id: one.episode_ids, other.ward_id: other.episode_ids} == {
        "w1": frozenset({"e1"}),
        "w2": frozenset({"e2"}),
    }


@ON_BOTH_ENGINES
@pytest.mark.parametrize(
    ("actor", "ward_id"),
    [(NURSE, "w1"), (PROGRAM, "w2"), (OUTSIDER, "w2")],
    ids=str,
)
def test_it_is_charted_on_the_latest_ward_of_the_actor(
    charting: Charting, actor: Actor, ward_id: str
) -> None:
    charting.open("e1", ward_id="w1", now=-60)
    charting.open("e2", ward_id="w2", now=-50)

    recorded = charting.observe(0, actor=actor, now=at(1))

    with charting.store.read() as session:
        logged = read_event(session, recorded.event_id)
    assert logged is not None
    assert (logged.ward_id, logged.event.episode_id) == (ward_id, None)
    assert (logged.event.recorded_by, logged.event.staff_id) == (actor.id, actor.staff_id)
    assert recorded == Recorded(logged.event.id, 1)


def test_a_patient_without_any_order_may_be_observed(charting: Charting) -> None:
    recorded = charting.observe(0, "p2")

    with charting.store.read() as session:
        logged = read_event(session, recorded.event_id)
    assert logged is not None
    assert (logged.patient_id, logged.ward_id) == ("p2", None)


@pytest.mark.parametrize(
    ("actor", "why"),
    [
        (OUTSIDER, "this patient is not on one of your wards"),
        (ADMINISTRATOR, "the role administrator may not chart"),
        (MANAGER, "the role manager may not chart"),
    ],
    ids=["outsider", "administrator", "manager"],
)
def test_nobody_else_charts_a_set(charting: Charting, actor: Actor, why: str) -> None:
    charting.open()
    before = charting.everything()

    with pytest.raises(Forbidden) as refused:
        charting.observe(0, actor=actor)

    assert (refused.value.why, charting.everything()) == (why, before)
    assert charting.observe(0, actor=CHARGE).revision == 1


def test_an_unknown_patient_is_not_found(charting: Charting) -> None:
    with pytest.raises(NotFound, match="the patient was not found"):
        charting.observe(0, "p7")


def test_a_set_from_the_future_or_before_the_birth_is_refused(charting: Charting) -> None:
    with charting.store.write() as session:
        register(session, replace(P2, birth_date=date(2026, 3, 3)))
    before = charting.everything()

    for when in (at(2, 1), datetime(2026, 3, 2, 23, 59, 59, tzinfo=UTC)):
        with pytest.raises(Invalid, match="happened_at: lies"):
            charting.observe(when, "p2", now=at(0))

    assert charting.everything() == before


def test_a_giving_set_of_one_unit_moves_the_limit_of_the_next(charting: Charting) -> None:
    charting.open("e1")
    charting.issue("e1")
    charting.record(1, SetHung(), "e1")
    charting.run("e2")
    heard: list[tuple[Change, ...]] = []
    charting.store.on_commit(heard.append)

    charting.record(8, SetChanged(), "e1", now=at(20))

    assert charting.clocks("e2")["set_change:1"].limit_at == at(8) + timedelta(hours=12)
    assert [one.episode_ids for changes in heard for one in changes] == [frozenset({"e1", "e2"})]
    assert charting.rebuild(20).differed == ()


def test_platelets_after_red_cells_owe_a_new_set_as_soon_as_one_hangs(charting: Charting) -> None:
    charting.open("e1")
    charting.issue("e1", minute=-20)
    charting.open("e2", component=Component.PLATELETS, ward_id="w2")
    charting.record(0, Issued(), "e2", actor=OUTSIDER)
    before = dict(charting.clock_states("e2"))

    charting.record(-15, SetHung(), "e1", now=at(5))

    assert "set_change:1" not in before
    assert charting.clock_states("e2")["set_change:1"] is ClockState.DUE
