"""Two people check a unit, each for themselves: what matches, what stops, what is kept."""

import pytest

from server.domain.errors import Refused
from server.domain.identity_check import CheckState
from server.domain.identity_reading import How, Item, Reading, confirmed, denied, scanned
from server.domain.payloads import CheckedItem, IdentityChecked, Started
from server.domain.words import Phase
from server.services.enter_readings import Entered
from server.services.errors import Conflict
from server.store.identity_checks import IdentityCheck
from tests.domain.builders import SOUND, at
from tests.services.charting import Charting
from tests.services.engines import ON_BOTH_ENGINES
from tests.services.identity import BAND, EVERYTHING, SPOKEN, Bedside, bedside, irradiated
from tests.services.identity_facts import (
    ONE_CHECKER,
    OTHER_BAND,
    OTHER_GROUP,
    READ,
    facts,
    matched,
)
from tests.services.people import CHARGE, COLLEAGUE, NURSE


@ON_BOTH_ENGINES
def test_two_people_match_and_one_fact_says_so(charting: Charting) -> None:
    unit = bedside(charting)

    first = unit.enter(NURSE, *EVERYTHING, minute=5)
    second = unit.enter(COLLEAGUE, *EVERYTHING, minute=7)

    assert (first, second.state) == (Entered(CheckState.OPEN), CheckState.MATCHED)
    assert facts(unit) == [
        (IdentityChecked("nurse-1", matched(*READ), "nurse-2"), "nurse-2", "nurse-2")
    ]
    assert unit.check(NURSE) == IdentityCheck(
        id=unit.check_id(NURSE),
        episode_id="e1",
        n=1,
        ward_id="w1",
        checkers=2,
        state=CheckState.MATCHED,
        opened_by="nurse-1",
        opened_at=at(5),
        changed_at=at(7),
        second_by="nurse-2",
        second_at=at(7),
        closed_at=at(7),
        closed_by="nurse-2",
        event_id=second.event_id,
    )


@ON_BOTH_ENGINES
def test_every_reading_is_kept_with_whose_it_is_and_when(charting: Charting) -> None:
    unit = bedside(charting)

    unit.enter(NURSE, *scanned(BAND), minute=5)
    unit.enter(COLLEAGUE, *SPOKEN, minute=6)
    unit.enter(NURSE, *scanned(BAND), denied(Item.EXPIRY), minute=7)

    assert [(one.staff_id, one.reading, one.read_at) for one in unit.stored(NURSE)] == [
        ("nurse-1", Reading(Item.RECORD_NUMBER, How.SCANNED, "T000001", BAND), at(5)),
        ("nurse-2", confirmed(Item.NAME), at(6)),
        ("nurse-2", confirmed(Item.DATE_OF_BIRTH), at(6)),
        ("nurse-1", denied(Item.EXPIRY), at(7)),
    ]


def test_the_start_is_allowed_after_a_match_and_by_nothing_less(charting: Charting) -> None:
    unit = bedside(charting)
    charting.record(2, SOUND)
    unit.enter(NURSE, *EVERYTHING)
    with pytest.raises(Refused, match="identity was not checked by two people"):
        charting.record(6, Started(60))

    unit.enter(COLLEAGUE, *EVERYTHING, minute=7)

    charting.record(8, Started(60))
    assert charting.episode(9).picture.episode.phase is Phase.RUNNING


def test_neither_sees_what_the_other_read_before_both_are_in(charting: Charting) -> None:
    unit = bedside(charting)
    unit.enter(NURSE, *EVERYTHING)
    unit.enter(COLLEAGUE, *scanned(BAND))

    before = [
        (list(look.mine), list(look.theirs), dict(look.left))
        for look in map(unit.look, (NURSE, COLLEAGUE, CHARGE))
    ]

    left = {"nurse-1": 0, "nurse-2": 5}
    assert before == [(list(EVERYTHING), [], left), (list(scanned(BAND)), [], left), ([], [], left)]


def test_once_both_are_in_the_two_see_both_and_nobody_else_does(charting: Charting) -> None:
    unit = bedside(charting)
    unit.enter(NURSE, *EVERYTHING)
    unit.enter(COLLEAGUE, *EVERYTHING)

    seen = [
        (list(look.mine), list(look.theirs)) for look in map(unit.look, (NURSE, COLLEAGUE, CHARGE))
    ]

    both = (list(EVERYTHING), list(EVERYTHING))
    assert seen == [both, both, ([], [])]


def test_a_mismatch_of_the_second_does_not_show_the_first_ones_readings(charting: Charting) -> None:
    unit = bedside(charting)
    unit.enter(NURSE, *EVERYTHING)

    stopped = unit.enter(COLLEAGUE, *OTHER_BAND)

    look = unit.look(COLLEAGUE)
    assert (stopped.state, look.state) == (CheckState.MISMATCHED, CheckState.MISMATCHED)
    assert (list(look.mine), list(look.theirs)) == (list(OTHER_BAND), [])
    assert [one.item for one in look.items if not one.matched] == ["record_number"]


@ON_BOTH_ENGINES
def test_a_mismatch_with_the_form_stops_at_once_and_refuses_the_start(charting: Charting) -> None:
    unit = bedside(charting)
    charting.record(2, SOUND)

    stopped = unit.enter(NURSE, *OTHER_GROUP)

    payload = IdentityChecked("nurse-1", (CheckedItem("blood_group", matched=False),))
    assert (stopped.state, facts(unit)) == (
        CheckState.MISMATCHED,
        [(payload, "nurse-1", "nurse-1")],
    )
    with pytest.raises(Refused, match=r"found a mismatch \(blood group\)"):
        charting.record(6, Started(60, override_reason="bleeding"))


def test_two_readings_of_what_the_form_does_not_say_are_compared_at_the_end(
    charting: Charting,
) -> None:
    charting.open()
    charting.issue()
    unit = Bedside(charting)
    other = tuple(one for one in EVERYTHING if one.item is not Item.BLOOD_GROUP)

    unit.enter(NURSE, *EVERYTHING)
    stopped = unit.enter(COLLEAGUE, *OTHER_GROUP, *other)

    look = unit.look(NURSE)
    assert stopped.state is CheckState.MISMATCHED
    assert [one.item for one in look.items if not one.matched] == ["blood_group"]
    assert set(look.theirs) == {*OTHER_GROUP, *other}


def test_one_person_is_enough_where_the_policy_says_so(charting: Charting) -> None:
    charting.put_in_force(ONE_CHECKER, when=-300)
    unit = bedside(charting)

    entered = unit.enter(NURSE, *EVERYTHING)

    assert entered.state is CheckState.MATCHED
    assert facts(unit) == [(IdentityChecked("nurse-1", matched(*READ)), "nurse-1", "nurse-1")]


def test_a_second_person_is_not_wanted_where_the_policy_asks_for_one(charting: Charting) -> None:
    charting.put_in_force(ONE_CHECKER, when=-300)
    unit = bedside(charting)
    unit.enter(NURSE, *scanned(BAND))

    with pytest.raises(Conflict, match="the policy asks for one person"):
        unit.enter(COLLEAGUE, *scanned(BAND))


def test_the_order_may_ask_for_special_requirements(charting: Charting) -> None:
    unit = irradiated(charting)
    unit.enter(NURSE, *EVERYTHING)

    states = [
        unit.enter(COLLEAGUE, *EVERYTHING).state,
        unit.enter(COLLEAGUE, confirmed(Item.SPECIAL_REQUIREMENTS)).state,
        unit.enter(NURSE, confirmed(Item.SPECIAL_REQUIREMENTS)).state,
    ]

    assert states == [CheckState.OPEN, CheckState.OPEN, CheckState.MATCHED]
    assert facts(unit)[0][0].items == matched(*READ, Item.SPECIAL_REQUIREMENTS)
