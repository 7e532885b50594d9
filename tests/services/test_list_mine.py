"""A nurse's list: their units on all their wards, those they cover, and reminders to match."""

import pytest

from server.domain.payloads import Acknowledged, Completed, FateRecorded
from server.domain.words import ClockName, Fate, Role, Stage
from server.services.acknowledge import acknowledge
from server.services.actor import Actor
from server.services.cover import CoverDraft, cover, end_cover
from server.services.enter_staff import enter_staff
from server.services.errors import Forbidden, NotFound
from server.services.list_mine import Mine, list_mine
from tests.domain.builders import at
from tests.services.charting import Charting
from tests.services.engines import ON_BOTH_ENGINES
from tests.services.people import (
    ADMINISTRATOR,
    CHARGE,
    COLLEAGUE,
    MANAGER,
    NURSE,
    OUTSIDE_CHARGE,
    OUTSIDER,
    PROGRAM,
    staff_draft,
)
from tests.store.facts import counted_queries

BOTH = Actor("nurse-3", "Bea Both", Role.BEDSIDE_NURSE, frozenset({"w1", "w2"}), staff_id="nurse-3")


def mine(charting: Charting, actor: Actor = NURSE, minute: float = 30, nurse: str = "") -> Mine:
    with charting.store.read() as session:
        return list_mine(session, actor, nurse or None, now=at(minute))


def ids(listed: Mine) -> dict[str, str | None]:
    """The units of a list, each with whom it is covered for."""
    return {one.picture.case.request.id: one.covering_for for one in listed.units}


def covered(charting: Charting, covering: str = "nurse-2", ward_id: str = "w1") -> str:
    """The nurse is covered from 20 to 50 min."""
    draft = CoverDraft(ward_id, covering, "nurse-1", at(20), at(50))
    with charting.store.write() as session:
        return cover(session, CHARGE, draft, now=at(20)).id


@ON_BOTH_ENGINES
def test_the_list_holds_one_s_own_units_in_order_of_urgency(charting: Charting) -> None:
    charting.open("e2", "p2", nurse_id="nurse-1")
    charting.run(nurse_id="nurse-1")
    charting.open("e3", nurse_id="nurse-2")
    charting.open("e4")

    listed = mine(charting)

    assert list(ids(listed).items()) == [("e1", None), ("e2", None)]
    assert (listed.at, listed.nurse.id, list(listed.wards)) == (at(30), "nurse-1", ["w1"])
    assert (listed.covers, listed.covered_on, listed.names) == ((), {}, {"nurse-1": "Nina Nurse"})


def test_a_unit_leaves_with_the_board(charting: Charting) -> None:
    charting.run(nurse_id="nurse-1")
    charting.record(20, Completed())
    charting.record(25, FateRecorded(Fate.TRANSFUSED))

    watch = 24 * 60
    assert [list(ids(mine(charting, minute=m))) for m in (30, 20 + watch)] == [["e1"], []]


def test_the_list_is_of_all_wards_of_the_nurse(charting: Charting) -> None:
    with charting.store.write() as session:
        enter_staff(session, ADMINISTRATOR, staff_draft(BOTH), now=at(0))
    charting.open("e1", nurse_id="nurse-3")
    charting.open("e9", "p9", ward_id="w2", nurse_id="nurse-3")

    assert ids(mine(charting, BOTH)) == {"e1": None, "e9": None}
    assert ids(mine(charting, CHARGE, nurse="nurse-3")) == {"e1": None}
    assert ids(mine(charting, OUTSIDE_CHARGE, nurse="nurse-3")) == {"e9": None}


@ON_BOTH_ENGINES
def test_while_a_cover_lasts_the_colleague_has_the_units_too(charting: Charting) -> None:
    charting.run(nurse_id="nurse-1")
    charting.open("e2", "p2", nurse_id="nurse-2")
    covered(charting)

    during = [mine(charting, one) for one in (NURSE, COLLEAGUE)]
    after = mine(charting, COLLEAGUE, 50)

    assert [ids(one) for one in during] == [{"e1": None}, {"e1": "nurse-1", "e2": None}]
    assert [one.covered_on for one in during] == [{"w1": "nurse-2"}, {}]
    assert [len(one.covers) for one in during] == [1, 1]
    assert during[1].names == {"nurse-1": "Nina Nurse", "nurse-2": "Cleo Colleague"}
    assert (ids(after), after.covers) == ({"e2": None}, ())


def test_a_cover_counts_on_its_own_ward_only(charting: Charting) -> None:
    for person in (BOTH, Actor("nurse-1", "Nina Nurse", NURSE.role, BOTH.wards)):
        with charting.store.write() as session:
            enter_staff(session, ADMINISTRATOR, staff_draft(person), now=at(0))
    charting.open("e1", nurse_id="nurse-1")
    charting.open("e9", "p9", ward_id="w2", nurse_id="nurse-1")
    covered(charting, covering="nurse-3")

    assert ids(mine(charting, BOTH)) == {"e1": "nurse-1"}


@pytest.mark.parametrize("actor", [MANAGER, ADMINISTRATOR, PROGRAM], ids=lambda one: one.id)
def test_others_have_no_list(charting: Charting, actor: Actor) -> None:
    for nurse in ("", "nurse-1"):
        with pytest.raises(Forbidden):
            mine(charting, actor, nurse=nurse)


@pytest.mark.parametrize("actor", [COLLEAGUE, OUTSIDER, OUTSIDE_CHARGE], ids=lambda one: one.id)
def test_the_list_of_another_is_for_whoever_is_in_charge_of_the_ward(
    charting: Charting, actor: Actor
) -> None:
    charting.open("e1", nurse_id="nurse-1")

    with pytest.raises(Forbidden):
        mine(charting, actor, nurse="nurse-1")

    assert ids(mine(charting, CHARGE, nurse="nurse-1")) == {"e1": None}


def test_a_token_without_a_person_has_no_list(charting: Charting) -> None:
    token = Actor("token", "A token", Role.BEDSIDE_NURSE, None)

    with pytest.raises(Forbidden, match="a program has no list of its own"):
        mine(charting, token)


@pytest.mark.parametrize("nurse", ["nobody", "manager-1"])
def test_a_nurse_who_is_none_is_not_found(charting: Charting, nurse: str) -> None:
    with pytest.raises(NotFound, match="the nurse was not found"):
        mine(charting, CHARGE, nurse=nurse)


def test_a_list_of_one_takes_as_many_queries_as_a_list_of_three(charting: Charting) -> None:
    counts = []
    for number in (1, 2, 3):
        charting.open(f"e{number}", nurse_id="nurse-1")
        with counted_queries(charting.store) as sent:
            listed = mine(charting)
        counts.append((len(listed.units), len(sent)))

    assert [units for units, _ in counts] == [1, 2, 3]
    assert len({queries for _, queries in counts}) == 1


@ON_BOTH_ENGINES
def test_reminders_go_to_whoever_covers_and_back_when_it_is_over(charting: Charting) -> None:
    charting.open(nurse_id="nurse-1")
    charting.issue()
    cover_id = covered(charting)

    charting.tick_each(60, 20, 31)
    with charting.store.write() as session:
        end_cover(session, COLLEAGUE, cover_id, now=at(32))
    charting.tick_each(60, 32, 36)

    told = {(one.stage, one.repeat): one.to for one in charting.reminders(clock=ClockName.START)}
    assert told == {
        (Stage.NOTICE, 0): "nurse-2",
        (Stage.DUE, 0): "nurse-2",
        (Stage.OVERDUE, 0): "nurse-2",
        (Stage.OVERDUE, 1): "nurse-1",
        (Stage.ESCALATE, 0): "charge_nurse",
    }


def test_i_have_it_is_said_once(charting: Charting) -> None:
    charting.open()
    charting.issue()
    said = []
    for actor in (NURSE, COLLEAGUE):
        with charting.store.write() as session:
            said.append(acknowledge(session, actor, "e1", ClockName.START, now=at(31)))

    kept = [
        one.payload for one in charting.episode(31).events if isinstance(one.payload, Acknowledged)
    ]
    assert (said, kept) == ([True, False], [Acknowledged(ClockName.START, "nurse-1")])


def test_nothing_is_said_of_a_clock_that_is_owed_no_more(charting: Charting) -> None:
    charting.open()
    before = charting.everything()

    with charting.store.write() as session:
        assert acknowledge(session, NURSE, "e1", ClockName.FATE, now=at(31)) is False

    assert charting.everything() == before


@pytest.mark.parametrize("actor", [MANAGER, OUTSIDER, PROGRAM], ids=lambda one: one.id)
def test_only_a_nurse_of_the_ward_has_a_task(charting: Charting, actor: Actor) -> None:
    charting.open()
    charting.issue()
    before = charting.everything()

    with pytest.raises(Forbidden), charting.store.write() as session:
        acknowledge(session, actor, "e1", ClockName.START, now=at(31))

    assert charting.everything() == before
