"""The second person signs on the first one's device, whose session goes on; and two act at once."""

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from threading import Barrier
from typing import Any

import pytest

from server.domain.identity_check import CheckState
from server.domain.identity_reading import scanned
from server.domain.words import Kind
from server.services.actor import Actor
from server.services.enter_readings import enter_readings
from server.services.enter_staff import enter_staff
from server.services.errors import Conflict, Forbidden
from server.services.identity_cases import GONE
from server.services.interrupt_check import interrupt_check
from server.services.join_check import SAME, actor_of_seat, sign_second
from server.services.list_waiting_checks import WaitingCheck, list_waiting_checks
from tests.domain.builders import at
from tests.services.charting import Charting
from tests.services.engines import ON_BOTH_ENGINES
from tests.services.identity import BAND, EVERYTHING, Bedside, bedside
from tests.services.people import (
    ADMINISTRATOR,
    CHARGE,
    COLLEAGUE,
    MANAGER,
    NURSE,
    OUTSIDER,
    PROGRAM,
    staff_draft,
    staff_of,
)
from tests.store.facts import counted_queries


@pytest.fixture
def unit(charting: Charting) -> Bedside:
    """Nina Nurse has read everything of unit `e1`."""
    begun = bedside(charting)
    begun.enter(NURSE, *EVERYTHING)
    return begun


def sign(unit: Bedside, second: Actor, *, by: Actor = NURSE, minute: float = 6) -> str:
    with unit.charting.store.write() as session:
        check_id = unit.check_id(NURSE)
        return sign_second(session, by, "e1", check_id, staff_of(second), now=at(minute))


def seated(unit: Bedside, secret: str, minute: float = 7, episode_id: str = "e1") -> Actor | None:
    with unit.charting.store.read() as session:
        return actor_of_seat(session, episode_id, secret, now=at(minute))


@ON_BOTH_ENGINES
def test_who_signs_second_reads_on_that_device_until_the_check_ends(unit: Bedside) -> None:
    secret = sign(unit, COLLEAGUE)

    reader = seated(unit, secret)
    assert reader == COLLEAGUE
    assert reader is not None
    assert unit.enter(reader, *EVERYTHING, minute=8).state is CheckState.MATCHED
    assert seated(unit, secret, 9) is None


def test_the_one_who_signed_sees_nothing_of_the_first(unit: Bedside) -> None:
    sign(unit, COLLEAGUE)

    look = unit.look(NURSE, reader=COLLEAGUE, minute=7)

    assert (list(look.mine), list(look.theirs)) == ([], [])


def test_the_seat_is_kept_as_a_hash(unit: Bedside) -> None:
    secret = sign(unit, COLLEAGUE)

    assert secret not in repr(unit.charting.everything())


@pytest.mark.parametrize("secret", ["", "guess"])
def test_no_other_secret_is_a_seat(unit: Bedside, secret: str) -> None:
    sign(unit, COLLEAGUE)

    assert seated(unit, secret) is None


def test_a_seat_is_of_one_unit(unit: Bedside) -> None:
    unit.charting.open("e2", "p2")

    assert seated(unit, sign(unit, COLLEAGUE), episode_id="e2") is None


def test_nobody_sits_in_a_check_that_was_left_unfinished(unit: Bedside) -> None:
    secret = sign(unit, COLLEAGUE, minute=6)

    assert [seated(unit, secret, minute) for minute in (21, 21.1)] == [COLLEAGUE, None]


def test_who_was_taken_off_the_staff_loses_the_seat(unit: Bedside) -> None:
    secret = sign(unit, COLLEAGUE)
    with unit.charting.store.write() as session:
        left = replace(staff_draft(COLLEAGUE), active=False)
        enter_staff(session, ADMINISTRATOR, left, now=at(0))

    assert seated(unit, secret) is None


def test_signing_again_gives_a_new_seat_to_the_same_person(unit: Bedside) -> None:
    first, second = sign(unit, COLLEAGUE), sign(unit, COLLEAGUE)

    assert (seated(unit, first), seated(unit, second)) == (None, COLLEAGUE)


@pytest.mark.parametrize(
    ("second", "refusal", "why"),
    [
        (NURSE, Conflict, SAME),
        (MANAGER, Forbidden, "the role manager may not chart"),
        (ADMINISTRATOR, Forbidden, "the role administrator may not chart"),
        (OUTSIDER, Forbidden, "this is not one of your wards"),
    ],
    ids=lambda one: getattr(one, "id", None),
)
def test_not_everybody_can_be_the_second(
    unit: Bedside, second: Actor, refusal: type[Exception], why: str
) -> None:
    before = unit.charting.everything()

    with pytest.raises(refusal, match=why):
        sign(unit, second)

    assert unit.charting.everything() == before


@pytest.mark.parametrize(
    ("by", "refusal", "why"),
    [
        (CHARGE, Conflict, "other people are checking this unit"),
        (OUTSIDER, Forbidden, "this is not one of your wards"),
        (MANAGER, Forbidden, "the role manager may not chart"),
    ],
    ids=lambda one: getattr(one, "id", None),
)
def test_somebody_who_takes_no_part_lends_no_device(
    unit: Bedside, by: Actor, refusal: type[Exception], why: str
) -> None:
    with pytest.raises(refusal, match=why):
        sign(unit, COLLEAGUE, by=by)


def test_a_third_person_cannot_sign(unit: Bedside) -> None:
    sign(unit, COLLEAGUE)

    with pytest.raises(Conflict, match="two other people are checking this unit"):
        sign(unit, CHARGE)


def test_who_takes_no_part_enters_nothing(unit: Bedside) -> None:
    sign(unit, COLLEAGUE)

    with pytest.raises(Conflict, match="two other people are checking this unit"):
        unit.enter(CHARGE, *scanned(BAND))
    with (
        unit.charting.store.write() as session,
        pytest.raises(Conflict, match="other people are checking this unit"),
    ):
        enter_readings(session, CHARGE, "e1", unit.check_id(NURSE), EVERYTHING, now=at(7))


# ---- who is called ----


def calls(unit: Bedside, person: Actor, minute: float = 6) -> tuple[WaitingCheck, ...]:
    with unit.charting.store.read() as session:
        return list_waiting_checks(session, person, now=at(minute))


@ON_BOTH_ENGINES
def test_colleagues_of_the_ward_are_called_until_one_has_come(unit: Bedside) -> None:
    waiting = (WaitingCheck("e1", "4", "Nina Nurse"),)

    called = {person.id: calls(unit, person) for person in (COLLEAGUE, CHARGE)}
    others = {
        person.id: calls(unit, person) for person in (NURSE, MANAGER, ADMINISTRATOR, OUTSIDER)
    }

    assert called == {"nurse-2": waiting, "charge-1": waiting}
    assert set(others.values()) == {()}
    sign(unit, COLLEAGUE)
    assert calls(unit, CHARGE) == ()


def test_whom_nobody_waits_for_costs_one_query(unit: Bedside) -> None:
    """Every open list asks again every few seconds."""
    with counted_queries(unit.charting.store) as sent:
        assert calls(unit, NURSE) == ()

    assert len(sent) == 1


def test_nobody_is_called_to_a_check_that_was_left_unfinished(unit: Bedside) -> None:
    assert [len(calls(unit, COLLEAGUE, minute)) for minute in (20, 20.1)] == [1, 0]


def test_a_program_of_every_ward_reads_who_waits(unit: Bedside) -> None:
    assert calls(unit, PROGRAM) == (WaitingCheck("e1", "4", "Nina Nurse"),)


# ---- at the same instant ----


def at_once(*acts: Callable[[], Any]) -> list[Any]:
    """What each of the acts answers, or the conflict it met."""
    together = Barrier(len(acts))

    def run(act: Callable[[], Any]) -> Any:
        together.wait(10)
        try:
            return act()
        except Conflict as conflict:
            return str(conflict)

    with ThreadPoolExecutor(len(acts)) as pool:
        return list(pool.map(run, acts))


@ON_BOTH_ENGINES
def test_two_who_begin_at_once_are_first_and_second(charting: Charting) -> None:
    unit = bedside(charting)

    at_once(
        lambda: unit.enter(NURSE, *scanned(BAND)), lambda: unit.enter(COLLEAGUE, *scanned(BAND))
    )

    check = unit.check(NURSE)
    assert (check.n, set(check.people)) == (1, {"nurse-1", "nurse-2"})
    assert sorted(one.staff_id for one in unit.stored(NURSE)) == ["nurse-1", "nurse-2"]


@ON_BOTH_ENGINES
def test_two_who_want_to_be_second_at_once_are_one(unit: Bedside) -> None:
    answers = at_once(
        lambda: unit.enter(COLLEAGUE, *scanned(BAND)).state,
        lambda: unit.enter(CHARGE, *scanned(BAND)).state,
    )

    assert sorted(answers) == sorted([CheckState.OPEN, "two other people are checking this unit"])
    assert unit.check(NURSE).second_by in ("nurse-2", "charge-1")


@ON_BOTH_ENGINES
def test_two_who_finish_at_once_leave_one_fact(unit: Bedside) -> None:
    unit.enter(COLLEAGUE, *scanned(BAND))
    check_id = unit.check_id(NURSE)

    answers = at_once(
        lambda: unit.enter(COLLEAGUE, *EVERYTHING, check_id=check_id).state,
        lambda: unit.enter(COLLEAGUE, *EVERYTHING, check_id=check_id).state,
        lambda: interrupted(unit, check_id),
    )

    kinds = [event.kind for event in unit.charting.episode(9).events]
    assert kinds.count(Kind.IDENTITY_CHECKED) == 1
    assert answers.count(GONE) == 2


def interrupted(unit: Bedside, check_id: str) -> CheckState:
    with unit.charting.store.write() as session:
        return interrupt_check(session, CHARGE, "e1", check_id, now=at(6)).state
