"""What is read of a unit before the turn to write: in the turn it holds, or is read again."""

from contextlib import suppress
from dataclasses import replace

import pytest

from server.domain.payloads import Note, Observed, Payload, SetHung
from server.services.cases import CaseRead, holds_now, read_before, read_on_ward
from server.services.record_event import Draft, RecordedOn, record_event
from server.services.record_together import record_together
from server.store.store import Store
from tests.domain.builders import FULL, KIND_OF, at
from tests.services.charting import Charting
from tests.services.engines import ON_BOTH_ENGINES
from tests.services.people import NURSE
from tests.services.test_live_board import CHANGES

NO_CHANGE = {"a tick", "a name", "an early set"}
"""What can leave the cases of `w1` as they were; all else is of one of its units, or of it."""


def chart(charting: Charting) -> None:
    """`e1` of `p1` and `e2` of `p2` running, `e3` of `p1` waiting, `e9` of `p1` on another ward."""
    charting.run("e1", "p1")
    charting.run("e2", "p2")
    charting.open("e3", "p1")
    charting.open("e9", "p1", ward_id="w2")
    charting.tick(20)


def read(store: Store, unit: str) -> CaseRead:
    """The case as it is read at 21 min, for a fact of 20 min."""
    with store.read() as session:
        found = read_before(session, unit, now=at(21), reaching=at(20))
    assert found is not None
    return found


def recorded(store: Store, ahead: CaseRead | None) -> RecordedOn:
    """What recording a set comes to; it is not kept."""
    fact, found = replace(draft(FULL, 20.5), id="f1"), []
    with suppress(InterruptedError), store.write() as session:
        found.append(record_event(session, NURSE, "e1", fact, now=at(21), ahead=ahead))
        _leave()
    return found[0]


def _leave() -> None:
    raise InterruptedError


def draft(payload: Payload, minute: float = 21) -> Draft:
    """A fact to be recorded."""
    return Draft(KIND_OF[type(payload)], at(minute), payload)


@pytest.mark.parametrize("unit", ["e1", "e2", "e3", "e9"])
@pytest.mark.parametrize("change", CHANGES)
def test_whatever_changes_a_case_is_seen_in_the_turn(
    ward: Charting, change: str, unit: str
) -> None:
    before = read(ward.store, unit)

    CHANGES[change](ward)

    with ward.store.write() as session:
        holds = holds_now(session, before)
        afresh = read_on_ward(session, unit, now=at(21), reaching=at(20))
    assert not holds or before.case == afresh.case
    assert not holds or unit == "e9" or change in NO_CHANGE


@ON_BOTH_ENGINES
def test_what_nobody_changed_holds_once_and_its_ward_is_marked(ward: Charting) -> None:
    before = read(ward.store, "e1")

    with ward.store.write() as session:
        held, again = holds_now(session, before), holds_now(session, before)

    after = read(ward.store, "e1")
    assert (held, again) == (True, False)
    assert after == replace(before, ward=replace(before.ward, revision=before.ward.revision + 1))


@ON_BOTH_ENGINES
@pytest.mark.parametrize("change", ["a fact", "a set on a unit", "a giving set", "a tick"])
def test_a_fact_comes_to_the_same_whatever_was_read_before(ward: Charting, change: str) -> None:
    before = read(ward.store, "e1")
    CHANGES[change](ward)

    alone, after = recorded(ward.store, None), recorded(ward.store, before)

    assert after == alone


def test_of_facts_recorded_together_each_sees_the_one_before(ward: Charting) -> None:
    before = read(ward.store, "e1")
    facts = [draft(Note("first")), draft(SetHung()), draft(Observed(pulse_per_min=80))]

    with ward.store.write() as session:
        recorded = record_together(session, NURSE, "e1", facts, now=at(21), ahead=before)

    told = [event.id for event in ward.episode(22).events][-3:]
    assert told == [one.event_id for one in recorded]


def test_what_cannot_be_read_before_is_left_to_the_turn(ward: Charting) -> None:
    with ward.store.read() as session:
        assert read_before(session, "e7", now=at(21), reaching=at(20)) is None
