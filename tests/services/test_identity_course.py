"""The course of an identity check: who may take part, how it begins, goes on and ends."""

from collections.abc import Callable
from datetime import timedelta
from typing import Final

import pytest

from server.domain.errors import Refused
from server.domain.identity_check import CheckState
from server.domain.identity_reading import Item, scanned
from server.domain.payloads import IdentityChecked, Returned, Started, Voided
from server.services.actor import Actor
from server.services.enter_readings import Entered
from server.services.errors import Conflict, Forbidden, NotFound
from server.services.identity_cases import GONE, require_open
from server.services.join_check import SAME, join_check
from server.services.open_check import open_check
from server.services.take_part import take_part
from tests.domain.builders import SOUND, at
from tests.services.charting import Charting
from tests.services.engines import ON_BOTH_ENGINES
from tests.services.identity import BAND, DIN_AND_GROUP, EVERYTHING, Bedside, bedside
from tests.services.identity_facts import OTHER_GROUP, READ, facts, interrupt, matched
from tests.services.people import (
    ADMINISTRATOR,
    CHARGE,
    COLLEAGUE,
    MANAGER,
    NURSE,
    OUTSIDER,
    PROGRAM,
)

# ---- who may take part ----


def test_the_same_person_twice_is_refused(charting: Charting) -> None:
    unit = bedside(charting)
    unit.enter(NURSE, *EVERYTHING)

    with charting.store.write() as session:
        running = require_open(session, NURSE, "e1", unit.check_id(NURSE), now=at(6))
        with pytest.raises(Conflict, match=SAME):
            join_check(session, running, now=at(6))

    assert unit.enter(NURSE, *EVERYTHING).state is CheckState.OPEN


def test_a_third_person_is_refused(charting: Charting) -> None:
    unit = bedside(charting)
    unit.enter(NURSE, *scanned(BAND))
    unit.enter(COLLEAGUE, *scanned(BAND))

    with pytest.raises(Conflict, match="two other people are checking this unit"):
        unit.enter(CHARGE, *scanned(BAND))


REFUSED: Final = {
    "manager": (MANAGER, "the role manager may not chart"),
    "administrator": (ADMINISTRATOR, "the role administrator may not chart"),
    "outsider": (OUTSIDER, "this is not one of your wards"),
    "program": (PROGRAM, "identity is checked by people, each for themselves"),
}


@pytest.mark.parametrize("who", REFUSED)
def test_who_may_not_chart_here_neither_opens_nor_joins_nor_interrupts(
    charting: Charting, who: str
) -> None:
    person, why = REFUSED[who]
    unit = bedside(charting)
    with pytest.raises(Forbidden, match=why):
        unit.enter(person, *scanned(BAND))
    unit.enter(NURSE, *scanned(BAND))
    before = charting.everything()

    acts: list[Callable[[], object]] = [
        lambda: unit.enter(person, *scanned(BAND)),
        lambda: unit.enter(person, *scanned(BAND), check_id=unit.check_id(NURSE)),
        lambda: interrupt(unit, person),
    ]
    for act in acts:
        with pytest.raises(Forbidden, match=why):
            act()

    assert charting.everything() == before


def test_who_is_on_another_ward_does_not_look(charting: Charting) -> None:
    unit = bedside(charting)
    unit.enter(NURSE, *EVERYTHING)

    with pytest.raises(Forbidden, match="this is not one of your wards"):
        unit.look(OUTSIDER)


# ---- beginning, going on, ending ----


def test_only_one_check_of_a_unit_runs(charting: Charting) -> None:
    unit = bedside(charting)
    unit.enter(NURSE, *scanned(BAND))

    with charting.store.write() as session, pytest.raises(Conflict, match="is running"):
        open_check(session, CHARGE, "e1", now=at(6))


@pytest.mark.parametrize("episode_id", ["e1", "none"])
def test_a_unit_that_was_not_issued_is_not_checked(charting: Charting, episode_id: str) -> None:
    charting.open()
    unit = Bedside(charting)

    with pytest.raises((Refused, NotFound)) as refusal:
        unit.enter(NURSE, *scanned(BAND), episode_id=episode_id)

    assert str(refusal.value) in (
        "the unit is requested; identity is checked once it was issued",
        "the episode was not found",
    )


@pytest.mark.parametrize("check_id", ["none", "of another unit"])
def test_a_check_belongs_to_its_unit(charting: Charting, check_id: str) -> None:
    unit = bedside(charting)
    charting.open("e2", "p2")
    charting.issue("e2")
    unit.enter(NURSE, *scanned(BAND))
    given = unit.check_id(NURSE) if check_id != "none" else check_id

    with pytest.raises(NotFound, match="the check was not found"):
        unit.enter(NURSE, *scanned(BAND), check_id=given, episode_id="e2")


@pytest.mark.parametrize("person", [NURSE, COLLEAGUE, CHARGE], ids=lambda one: one.id)
@ON_BOTH_ENGINES
def test_an_interruption_is_recorded_and_all_begins_again(
    charting: Charting, person: Actor
) -> None:
    unit = bedside(charting)
    charting.record(2, SOUND)
    unit.enter(NURSE, *EVERYTHING)
    unit.enter(COLLEAGUE, *scanned(BAND))

    ended = interrupt(unit, person)

    payload = IdentityChecked("nurse-1", matched(*READ), "nurse-2", interrupted=True)
    assert ended.state is CheckState.INTERRUPTED
    assert facts(unit) == [(payload, person.id, person.id)]
    with pytest.raises(Refused, match="was interrupted and starts again from the top"):
        charting.record(7, Started(60, override_reason="bleeding"))
    with pytest.raises(Conflict, match=GONE):
        interrupt(unit, person)
    assert unit.enter(COLLEAGUE, *EVERYTHING, minute=8).state is CheckState.OPEN
    assert unit.check(NURSE).n == 2


def test_what_was_read_before_an_interruption_does_not_count_after_it(charting: Charting) -> None:
    unit = bedside(charting)
    unit.enter(NURSE, *EVERYTHING)
    interrupt(unit, NURSE)
    unit.enter(COLLEAGUE, *EVERYTHING, minute=8)

    assert dict(unit.look(NURSE, minute=8).left) == {"nurse-2": 0}
    assert unit.enter(NURSE, *EVERYTHING, minute=9).state is CheckState.MATCHED


def test_a_check_without_a_reading_leaves_no_fact(charting: Charting) -> None:
    unit = bedside(charting)
    with charting.store.write() as session:
        opened = open_check(session, NURSE, "e1", now=at(5))

    ended = interrupt(unit, NURSE, check_id=opened.id)

    assert (ended, facts(unit)) == (Entered(CheckState.INTERRUPTED), [])


def test_a_reading_for_a_check_that_has_ended_is_refused(charting: Charting) -> None:
    unit = bedside(charting)
    unit.enter(NURSE, *EVERYTHING)
    check_id = unit.check_id(NURSE)
    unit.enter(COLLEAGUE, *EVERYTHING)
    before = charting.everything()

    for person in (NURSE, COLLEAGUE):
        with pytest.raises(Conflict, match=GONE):
            unit.enter(person, *EVERYTHING, check_id=check_id)

    assert charting.everything() == before


def test_a_matched_check_may_be_made_again(charting: Charting) -> None:
    unit = bedside(charting)
    unit.enter(NURSE, *EVERYTHING)
    unit.enter(COLLEAGUE, *EVERYTHING)

    assert unit.enter(CHARGE, *OTHER_GROUP, minute=9).state is CheckState.MISMATCHED
    assert [payload.passed for payload, _, _ in facts(unit)] == [True, False]


def test_a_unit_that_left_its_phase_is_checked_no_further(charting: Charting) -> None:
    unit = bedside(charting)
    unit.enter(NURSE, *EVERYTHING)
    charting.record(6, Returned("too late"))

    with pytest.raises(Refused, match="the unit is returned"):
        unit.enter(COLLEAGUE, *EVERYTHING, minute=7)


def test_a_correction_of_the_record_meanwhile_is_what_counts(charting: Charting) -> None:
    unit = bedside(charting)
    unit.enter(NURSE, *EVERYTHING)
    issued = charting.episode(6).events[0]
    charting.record(6, Voided(issued.id, "another bag"))
    charting.record(0, issued.payload, now=7)
    corrected = charting.episode(7).picture.episode.unit_number

    assert corrected == "A999926123456"
    assert unit.enter(COLLEAGUE, *EVERYTHING, minute=8).state is CheckState.MATCHED


# ---- left unfinished: 15 minutes by the common policy ----


@pytest.mark.parametrize(
    ("seconds", "state"), [(-1, CheckState.OPEN), (0, CheckState.OPEN), (1, CheckState.ABANDONED)]
)
def test_a_check_is_abandoned_when_nobody_goes_on_with_it(
    charting: Charting, seconds: int, state: CheckState
) -> None:
    unit = bedside(charting)
    unit.enter(NURSE, *scanned(BAND), minute=2)
    unit.enter(COLLEAGUE, *scanned(BAND), minute=5)
    later = at(20, seconds)

    assert unit.look(NURSE, minute=20 + seconds / 60).state is state
    with charting.store.write() as session:
        check_id = take_part(session, NURSE, "e1", "", now=later)
    assert (check_id == unit.check_id(NURSE)) is True
    assert unit.check(NURSE).n == (2 if state is CheckState.ABANDONED else 1)


def test_an_abandoned_check_is_kept_as_that(charting: Charting) -> None:
    unit = bedside(charting)
    unit.enter(NURSE, *EVERYTHING)
    check_id = unit.check_id(NURSE)
    with pytest.raises(Conflict, match=GONE):
        unit.enter(COLLEAGUE, *EVERYTHING, minute=21, check_id=check_id)

    unit.enter(COLLEAGUE, *EVERYTHING, minute=22)

    rows = {row[0]: row for row in charting.everything()["identity_check"]}
    assert (len(rows), CheckState.ABANDONED in rows[check_id], facts(unit)) == (2, True, [])
    assert at(20) in rows[check_id]
    assert dict(unit.look(COLLEAGUE, minute=22).left) == {"nurse-2": 0}
    assert at(5) + timedelta(minutes=15) == at(20)


@ON_BOTH_ENGINES
def test_a_reading_that_comes_twice_is_stored_once(charting: Charting) -> None:
    unit = bedside(charting)

    for _ in range(2):
        unit.enter(NURSE, *scanned(DIN_AND_GROUP), *scanned(DIN_AND_GROUP))

    assert [one.reading.item for one in unit.stored(NURSE)] == [Item.UNIT_NUMBER, Item.BLOOD_GROUP]
