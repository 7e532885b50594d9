"""Units change hands: one or all of a patient, handed over or taken over, with who did it."""

from collections.abc import Callable
from typing import Any

import pytest

from server.domain.errors import Invalid
from server.domain.payloads import Assigned, Completed, FateRecorded
from server.domain.words import Fate, Role
from server.services.actor import Actor
from server.services.changing_hands import Changed, Wanted, left_behind
from server.services.enter_staff import StaffDraft, enter_staff
from server.services.errors import Conflict, Forbidden, NotFound, Unreadable
from server.services.hand_over import hand_over
from server.services.take_over import take_over
from server.store.sessions import Change
from tests.domain.builders import at
from tests.services.charting import Charting
from tests.services.engines import ON_BOTH_ENGINES
from tests.services.people import (
    ADMINISTRATOR,
    CHARGE,
    COLLEAGUE,
    MANAGER,
    NURSE,
    OUTSIDER,
    PROGRAM,
    W1,
)
from tests.services.poison import (
    ASKED,
    DAMAGED_REQUEST,
    EVERY_KIND,
    mend,
    tamper,
)

MINE = Wanted("e1", held_by="nurse-1")
ALL = Wanted("e1", whole_patient=True, held_by="nurse-1")


def chart(charting: Charting) -> None:
    """The nurse has units `e1` and `e2` of one patient; `e3` is nobody's, `e4` the charge nurse's.

    `e5` of the same patient is over, and `o1` is another patient's.
    """
    charting.run(nurse_id="nurse-1")
    charting.open("e2", nurse_id="nurse-1")
    charting.open("e3", nurse_id=None)
    charting.open("e4", nurse_id="charge-1")
    charting.run("e5", nurse_id="nurse-1")
    charting.record(20, Completed(), "e5")
    charting.record(22, FateRecorded(Fate.TRANSFUSED), "e5")
    charting.open("o1", "p2", nurse_id="nurse-1")


def give(
    ward: Charting, wanted: Wanted = MINE, to: str = "nurse-2", actor: Actor = NURSE
) -> tuple[str, ...]:
    with ward.store.write() as session:
        changed = hand_over(session, actor, wanted, to, now=at(30))
    assert changed.left == ()
    return changed.units


def take(ward: Charting, wanted: Wanted = MINE, actor: Actor = COLLEAGUE) -> tuple[str, ...]:
    with ward.store.write() as session:
        changed = take_over(session, actor, wanted, now=at(30))
    assert changed.left == ()
    return changed.units


def holders(ward: Charting) -> dict[str, str | None]:
    return {one: ward.state(one).nurse_id for one in ("e1", "e2", "e3", "e4", "e5", "o1")}


BEFORE = {
    "e1": "nurse-1",
    "e2": "nurse-1",
    "e3": None,
    "e4": "charge-1",
    "e5": "nurse-1",
    "o1": "nurse-1",
}


@ON_BOTH_ENGINES
def test_a_unit_is_handed_over_at_once_as_a_fact_of_who_did_it(ward: Charting) -> None:
    heard: list[tuple[Change, ...]] = []
    ward.store.on_commit(heard.append)

    assert give(ward) == ("e1",)

    event = ward.episode(30).events[-1]
    assert (event.payload, event.happened_at, event.staff_id, event.recorded_by) == (
        Assigned("nurse-2"),
        at(30),
        "nurse-1",
        "nurse-1",
    )
    assert holders(ward) == BEFORE | {"e1": "nurse-2"}
    assert heard[0][0].episode_ids == {"e1"}


@ON_BOTH_ENGINES
def test_a_patient_is_handed_over_with_what_is_one_s_own_and_nobody_s(ward: Charting) -> None:
    assert give(ward, ALL) == ("e1", "e2", "e3")

    handed = {"e1": "nurse-2", "e2": "nurse-2", "e3": "nurse-2"}
    assert holders(ward) == BEFORE | handed


def test_whoever_is_in_charge_hands_over_everything_of_a_patient(ward: Charting) -> None:
    assert give(ward, ALL, actor=CHARGE) == ("e1", "e2", "e3", "e4")
    assert ward.episode(30, "e4").events[-1].staff_id == "charge-1"


@pytest.mark.parametrize("wanted", [MINE, ALL])
def test_what_the_colleague_has_already_is_no_new_fact(ward: Charting, wanted: Wanted) -> None:
    give(ward, wanted)
    before = ward.everything("ward")
    again = Wanted("e1", whole_patient=wanted.whole_patient, held_by="nurse-2")

    assert give(ward, again, actor=CHARGE, to="nurse-2") == (("e4",) if wanted is ALL else ())
    if wanted is MINE:
        assert ward.everything("ward") == before


def test_a_nurse_hands_over_no_unit_of_somebody_else(ward: Charting) -> None:
    before = ward.everything()

    for wanted in (Wanted("e4", held_by="charge-1"), Wanted("e3")):
        with pytest.raises(Forbidden, match="only the nurse who has a unit, or the charge nurse"):
            give(ward, wanted)

    assert ward.everything() == before


@pytest.mark.parametrize("to", ["nurse-9", "manager-1", "admin", "nobody", ""])
def test_only_a_nurse_of_the_ward_is_given_a_unit(ward: Charting, to: str) -> None:
    before = ward.everything()

    with pytest.raises(Invalid) as refused:
        give(ward, to=to)

    assert (refused.value.field, refused.value.message) == (
        "to",
        "is no nurse of this ward; expected one who works on it",
    )
    assert ward.everything() == before


def test_a_nurse_who_has_left_is_given_nothing(ward: Charting) -> None:
    with ward.store.write() as session:
        left = StaffDraft("nurse-2", "Cleo Colleague", Role.BEDSIDE_NURSE, W1, active=False)
        enter_staff(session, ADMINISTRATOR, left, now=at(0))

    with pytest.raises(Invalid, match="is no nurse of this ward"):
        give(ward)


@pytest.mark.parametrize("act", [give, take], ids=["hand over", "take over"])
def test_nobody_is_overruled_unseen(ward: Charting, act: Callable[..., Any]) -> None:
    ward.record(25, Assigned("charge-1"), actor=CHARGE)
    before = ward.everything()

    with pytest.raises(Conflict) as refused:
        act(ward)

    assert refused.value.why == "Carl Charge has this unit meanwhile; look at it again"
    assert ward.everything() == before


def test_a_unit_that_nobody_has_any_more_is_looked_at_again(ward: Charting) -> None:
    with pytest.raises(Conflict, match="nobody has this unit meanwhile"):
        take(ward, Wanted("e3", held_by="nurse-1"))


@ON_BOTH_ENGINES
@pytest.mark.parametrize("actor", [COLLEAGUE, CHARGE], ids=lambda one: one.id)
def test_a_unit_is_taken_over_by_any_nurse_of_the_ward(ward: Charting, actor: Actor) -> None:
    assert take(ward, actor=actor) == ("e1",)

    event = ward.episode(30).events[-1]
    assert (event.payload, event.staff_id) == (Assigned(actor.id), actor.staff_id)


def test_a_patient_is_taken_over_whoever_has_the_units(ward: Charting) -> None:
    assert take(ward, ALL) == ("e1", "e2", "e3", "e4")


def test_what_nobody_has_is_taken(ward: Charting) -> None:
    assert take(ward, Wanted("e3")) == ("e3",)


@pytest.mark.parametrize(
    "actor", [MANAGER, ADMINISTRATOR, PROGRAM, OUTSIDER], ids=lambda one: one.id
)
@pytest.mark.parametrize("act", [give, take], ids=["hand over", "take over"])
def test_nobody_else_changes_who_has_a_unit(
    ward: Charting, act: Callable[..., Any], actor: Actor
) -> None:
    before = ward.everything()

    with pytest.raises(Forbidden):
        act(ward, actor=actor)

    assert ward.everything() == before


def test_a_program_of_a_nurse_takes_nothing_over(ward: Charting) -> None:
    token = Actor("token", "A token", Role.BEDSIDE_NURSE, W1)

    with pytest.raises(Forbidden, match="somebody of the staff does"):
        take(ward, actor=token)
    with pytest.raises(Forbidden, match="only the nurse who has a unit"):
        give(ward, actor=token)


@pytest.mark.parametrize("act", [give, take], ids=["hand over", "take over"])
def test_a_unit_that_is_not_there_is_not_found(ward: Charting, act: Callable[..., Any]) -> None:
    with pytest.raises(NotFound, match="the episode"):
        act(ward, Wanted("none"))


@ON_BOTH_ENGINES
@EVERY_KIND
def test_a_unit_that_cannot_be_read_keeps_none_of_the_others_back(
    ward: Charting, setting: str
) -> None:
    tamper(ward.store, setting)
    ward.tick(26)

    with ward.store.write() as session:
        given = hand_over(session, NURSE, ALL, "nurse-2", now=at(30))
    with ward.store.write() as session:
        taken = take_over(session, CHARGE, ALL, now=at(31))

    assert (given, taken) == (
        Changed(("e2", "e3"), left=("e1",)),
        Changed(("e2", "e3"), left=("e1",)),
    )
    assert holders(ward) == BEFORE | {"e2": "charge-1", "e3": "charge-1"}


def test_what_was_left_behind_is_told_to_its_ward_until_it_can_be_read(ward: Charting) -> None:
    tamper(ward.store, DAMAGED_REQUEST)
    tamper(ward.store, f"{ASKED}priority = 'now'", "e3")
    asked = ("e1", "e2", "e3", "none")

    with ward.store.read() as session:
        told = left_behind(session, COLLEAGUE, asked, now=at(30))
        strangers = left_behind(session, OUTSIDER, asked, now=at(30))
    mend(ward.store)
    with ward.store.read() as session:
        mended = left_behind(session, COLLEAGUE, asked, now=at(30))

    assert [(one.unit.id, one.nurse_name) for one in told] == [("e1", "Nina Nurse"), ("e3", None)]
    assert (strangers, [one.unit.id for one in mended]) == ((), ["e3"])


@pytest.mark.parametrize("wanted", [MINE, ALL])
def test_where_nothing_else_is_to_change_hands_the_unit_is_the_answer(
    ward: Charting, wanted: Wanted
) -> None:
    for unit in ("e1", "e2", "e3"):
        tamper(ward.store, f"{ASKED}priority = 'now'", unit)
    before = ward.everything()

    with pytest.raises(Unreadable) as refused:
        give(ward, wanted)

    assert refused.value.unit.id == "e1"
    assert ward.everything() == before
