"""A ward at an instant, as it was known then and as it is known now; its lists; what happened."""

from dataclasses import replace
from datetime import timedelta

import pytest

from server.domain.errors import Invalid
from server.domain.payloads import Acknowledged, Assigned, Issued, RateSet, Voided
from server.domain.words import ClockName, ClockState, Kind, Level, Phase, Stage
from server.services.cover import CoverDraft, cover, end_cover
from server.services.enter_staff import enter_staff
from server.services.errors import Forbidden, NotFound
from server.services.list_happenings import list_happenings
from server.services.list_mine import Mine
from server.services.replay_list import replay_list
from server.services.replay_ward import Replay, View, replay_ward
from server.store.happenings import Happening, Sort
from tests.domain.builders import at
from tests.services.charting import Charting, instant
from tests.services.engines import ON_BOTH_ENGINES
from tests.services.people import (
    ADMINISTRATOR,
    CHARGE,
    COLLEAGUE,
    MANAGER,
    NURSE,
    OUTSIDER,
    P1,
    PROGRAM,
    W2,
    register,
    staff_draft,
)
from tests.store.facts import counted_queries


def chart(charting: Charting) -> None:
    """`late`: its first check, done in time, is charted at 60; `told`: as it happens."""
    charting.run("late", "p1", nurse_id="nurse-1")
    charting.run("told", "p2", bed="5", nurse_id="nurse-2")
    charting.observe(22, "p2")
    for unit in ("late", "told"):
        charting.record(26, RateSet(150), unit)
    charting.tick(31)
    charting.tick(36)
    charting.observe(25, "p1", now=60)


def replay(ward: Charting, minute: float = 40, known: float | None = None) -> Replay:
    known_at = None if known is None else at(known)
    with ward.store.read() as session:
        return replay_ward(session, MANAGER, "w1", at=at(minute), known_at=known_at)


def levels(view: View) -> dict[str, tuple[Level, Phase]]:
    return {unit: (one.urgency.level, one.episode.phase) for unit, one in view.pictures.items()}


def lists(ward: Charting, nurse_id: str, minute: float = 40) -> tuple[Mine, Mine]:
    with ward.store.read() as session:
        found = replay_ward(session, MANAGER, "w1", at=at(minute))
        return replay_list(session, found, nurse_id)


@ON_BOTH_ENGINES
def test_it_is_seen_as_it_was_known_and_as_it_is_known_now(ward: Charting) -> None:
    found = replay(ward)

    steady = (Level.STEADY, Phase.RUNNING)
    assert levels(found.then) == {"late": (Level.OVERDUE, Phase.RUNNING), "told": steady}
    assert levels(found.now) == {"late": steady, "told": steady}
    assert [
        (unit, [(event.kind, event.happened_at, event.recorded_at) for event in events])
        for unit, events in found.later.items()
    ] == [("late", [(Kind.OBSERVED, at(25), at(60))])]
    assert found.names["nurse-1"] == "Nina Nurse"


def test_a_unit_of_which_nothing_was_learnt_is_looked_at_once(ward: Charting) -> None:
    found = replay(ward)

    assert found.then.pictures["told"] is found.now.pictures["told"]
    assert found.then.pictures["late"] is not found.now.pictures["late"]


def test_once_it_was_charted_then_and_now_are_the_same(ward: Charting) -> None:
    found = replay(ward, 60)

    assert found.then.board.rows == found.now.board.rows
    assert found.later == {}


def test_it_may_be_asked_as_known_at_another_instant(ward: Charting) -> None:
    known = [levels(replay(ward, 40, minute).then)["late"][0] for minute in (40, 59, 60)]

    assert known == [Level.OVERDUE, Level.OVERDUE, Level.STEADY]


def test_what_had_been_said_stands_with_who_had_it_as_it_was_known(charting: Charting) -> None:
    charting.run("e1", nurse_id="nurse-1")
    charting.tick(31)
    charting.record(32, Acknowledged(ClockName.FIRST_CHECK, "nurse-2"), now=50)
    charting.observe(30, now=55)

    found = replay(charting, 40)
    (then,) = [one for one in found.then.said if one.item.clock.name is ClockName.FIRST_CHECK]

    assert (then.item.state, then.item.acknowledged_by) == (ClockState.OVERDUE, None)
    assert (then.reminder.stage, then.reminder.to) == (Stage.OVERDUE, "nurse-1")
    assert [one for one in found.now.said if one.item.clock.name is ClockName.FIRST_CHECK] == []
    assert {one.raised_at for one in found.now.raised} == {at(31)}
    assert [one.raised_at for one in replay(charting, 40, 20).then.raised] == []


@ON_BOTH_ENGINES
def test_a_fact_that_was_taken_back_later_had_stood(charting: Charting) -> None:
    charting.run("e1")
    mistake = charting.record(20, RateSet(200), now=24)
    void = charting.record(60, Voided(mistake.event_id, "other pump"), now=60)
    other = charting.record(62, RateSet(90), now=62)
    charting.record(63, Voided(other.event_id, "never mind"), now=63)

    rates = [
        [one.pictures["e1"].infusion.rate_ml_h for one in (found.then, found.now)]
        for found in (replay(charting, 30), replay(charting, 60))
    ]

    assert rates == [[200, 60], [60, 60]]
    assert [event.id for event in replay(charting, 30).later["e1"]] == [void.event_id]
    assert replay(charting, 60).later == {}


def test_a_fact_charted_and_taken_back_after_it_is_told_with_both(charting: Charting) -> None:
    charting.run("e1")
    mistake = charting.record(20, RateSet(200), now=40)
    void = charting.record(60, Voided(mistake.event_id, "other pump"), now=60)

    found = replay(charting, 30)

    assert found.then.board.rows[0].picture.infusion == found.now.board.rows[0].picture.infusion
    assert [event.id for event in found.later["e1"]] == [mistake.event_id, void.event_id]


def test_a_unit_asked_for_later_on_paper_stood_on_no_screen(charting: Charting) -> None:
    charting.open("paper", requested_at=at(-60), now=90)

    found = replay(charting, 30)

    assert (levels(found.then), list(found.now.pictures)) == ({}, ["paper"])
    assert list(found.requests) == ["paper"]


def test_what_was_known_of_the_patient_was_known_then(charting: Charting) -> None:
    charting.run("e1")
    with charting.store.write() as session:
        register(session, replace(P1, overload_risks=("heart failure",)), minute=50)

    found = replay(charting, 30)

    permitted = [one.pictures["e1"].infusion.permitted_rate_ml_h for one in (found.then, found.now)]
    assert permitted == [300, 100]


def test_an_empty_ward_is_replayed_empty(charting: Charting) -> None:
    found = replay(charting)

    assert (found.then.board.rows, found.now.board.rows, found.requests) == ((), (), {})


def test_nobody_else_and_no_unknown_ward(ward: Charting) -> None:
    with ward.store.read() as session:
        with pytest.raises(Forbidden, match="not one of your wards"):
            replay_ward(session, OUTSIDER, "w1", at=at(40))
        with pytest.raises(Forbidden, match="not one of your wards"):
            list_happenings(session, OUTSIDER, "w1", at(0), at(60))
        with pytest.raises(NotFound, match="the ward"):
            replay_ward(session, MANAGER, "w7", at=at(40))


@pytest.mark.parametrize("units", [1, 3])
def test_more_units_take_no_more_queries(charting: Charting, units: int) -> None:
    for number in range(units):
        charting.run(f"e{number}", f"p{1 + number % 2}")
        charting.record(12, RateSet(100), f"e{number}", now=50)
    with charting.store.read() as session, counted_queries(charting.store) as sent:
        replay_ward(session, MANAGER, "w1", at=at(30))

    assert len(sent) == 19


# ---- the list of a nurse ----


def test_a_list_is_that_of_whoever_had_the_units_as_it_was_known(charting: Charting) -> None:
    charting.run("e1", nurse_id="nurse-1")
    charting.record(20, Assigned("nurse-2"), "e1", now=50)

    pairs = [lists(charting, nurse.id, 30) for nurse in (NURSE, COLLEAGUE)]

    assert [
        [[one.picture.case.request.id for one in mine.units] for mine in pair] for pair in pairs
    ] == [[["e1"], []], [[], ["e1"]]]


def test_covers_stand_as_they_had_been_entered(charting: Charting) -> None:
    """One from 20 to 60 that was ended at 40, one for later that was entered at 35."""
    charting.run("e1", nurse_id="nurse-1")
    with charting.store.write() as session:
        first = cover(
            session, CHARGE, CoverDraft("w1", "nurse-2", "nurse-1", at(20), at(60)), now=at(15)
        )
        cover(session, CHARGE, CoverDraft("w1", "nurse-2", "nurse-1", at(90), at(99)), now=at(35))
        end_cover(session, CHARGE, first.id, now=at(40))

    then, now = lists(charting, "nurse-2", 30)

    assert [one.covering_for for one in then.units] == ["nurse-1"]
    assert [(one.from_at, one.over_at) for one in then.covers] == [(at(20), at(60))]
    assert [(one.from_at, one.over_at) for one in now.covers] == [
        (at(20), at(40)),
        (at(90), at(99)),
    ]
    assert lists(charting, "nurse-1", 30)[0].covered_on == {"w1": "nurse-2"}
    assert lists(charting, "nurse-1", 40)[0].covered_on == {}


def test_what_was_escalated_called_whoever_was_in_charge(ward: Charting) -> None:
    (called,) = lists(ward, CHARGE.id)[0].called

    assert called.picture.case.request.id == "late"
    assert {one.stage for one in called.calls} == {Stage.ESCALATE}
    assert lists(ward, CHARGE.id)[1].called == ()
    assert lists(ward, NURSE.id)[0].called == ()


def test_a_list_is_of_a_nurse_of_the_ward_or_of_one_who_had_units_there(ward: Charting) -> None:
    moved = replace(staff_draft(NURSE), wards=W2)
    with ward.store.write() as session:
        enter_staff(session, ADMINISTRATOR, moved, now=at(90))

    assert [one.picture.case.request.id for one in lists(ward, NURSE.id)[0].units] == ["late"]
    for who in (MANAGER.id, OUTSIDER.id, "nobody"):
        with pytest.raises(NotFound, match="the nurse"):
            lists(ward, who)


# ---- what happened ----


@ON_BOTH_ENGINES
def test_what_happened_is_told_by_when_it_was_done_and_charted(charting: Charting) -> None:
    charting.open("e1")
    charting.record(0, Issued(), "e1")
    charting.tick(at(30) + timedelta(seconds=1))
    charting.observe(25, now=40)
    charting.open("elsewhere", "p9", ward_id="w2")
    charting.record(0, Issued(), "elsewhere", actor=PROGRAM)

    def happened(first: float, last: float) -> list[Happening]:
        with charting.store.read() as session:
            found = list_happenings(session, MANAGER, "w1", instant(first), instant(last))
        return [one for one in found if one.word not in (ClockName.RETURN, ClockName.FINISH)]

    issued = Happening(Sort.FACT, "e1", "4", "issued", "", at(0), at(0))
    seen = Happening(Sort.FACT, "e1", "4", "observed", "", at(25), at(40))
    assert happened(0, 10) == [issued]
    assert [one for one in happened(20, 30) if one.sort is Sort.FACT] == [seen]
    assert [one for one in happened(35, 50) if one.sort is Sort.FACT] == [seen]
    late = [one for one in happened(10, 40) if one.sort is not Sort.FACT]
    assert [(one.sort, one.word, one.came, one.happened_at) for one in late] == [
        (Sort.CROSSING, "start", "due", at(30)),
        (Sort.CROSSING, "start", "overdue", at(30)),
        *((Sort.REMINDER, "start", stage, at(30, 1)) for stage in ("notice", "due", "overdue")),
    ]


def test_more_than_a_day_at_once_is_refused(charting: Charting) -> None:
    with charting.store.read() as session, pytest.raises(Invalid, match="a day at most"):
        list_happenings(session, MANAGER, "w1", at(0), at(60 * 27))
