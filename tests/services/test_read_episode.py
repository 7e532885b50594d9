"""One unit in full: for the ward's own, with who recorded what, now and then."""

import pytest

from server.domain.payloads import (
    Assigned,
    IdentityChecked,
    Issued,
    Note,
    Payload,
    Received,
    Started,
    Voided,
)
from server.domain.words import Kind
from server.services.actor import Actor
from server.services.errors import Forbidden, NotFound
from server.services.read_episode import read_episode, read_recorded
from server.services.record_event import Draft, record_event
from tests.domain.builders import CHECKED, FULL, KIND_OF, SOUND, at, kinds
from tests.services.charting import START, Charting
from tests.services.engines import ON_BOTH_ENGINES
from tests.services.people import ADMINISTRATOR, CHARGE, MANAGER, NURSE, OUTSIDER, PROGRAM
from tests.store.facts import counted_queries


@pytest.mark.parametrize(
    "actor", [NURSE, CHARGE, MANAGER, ADMINISTRATOR, PROGRAM], ids=lambda one: one.id
)
def test_the_ward_s_own_read_it(charting: Charting, actor: Actor) -> None:
    charting.open()

    with charting.store.read() as session:
        read = read_episode(session, actor, "e1", now=at(0))

    assert (read.picture.case.request.id, read.ward.id, read.at) == ("e1", "w1", at(0))


def test_an_outsider_does_not(charting: Charting) -> None:
    charting.open()

    with charting.store.read() as session, pytest.raises(Forbidden):
        read_episode(session, OUTSIDER, "e1", now=at(0))


def test_an_unknown_one_is_not_found(charting: Charting) -> None:
    with pytest.raises(NotFound, match="the episode was not found"):
        charting.episode(0, "e9")


@ON_BOTH_ENGINES
def test_people_are_named(charting: Charting) -> None:
    charting.open()
    charting.record(0, Issued(), actor=PROGRAM)
    charting.record(1, Received(), actor=NURSE, staff_id="nurse-2")
    charting.record(2, Assigned("charge-1"), actor=NURSE)
    charting.record(2, IdentityChecked("charge-1", CHECKED.items, "nurse-9"))
    charting.record(3, Assigned("nurse-1"), actor=NURSE)

    assert charting.episode(4).names == {
        "nurse-1": "Nina Nurse",
        "nurse-2": "Cleo Colleague",
        "charge-1": "Carl Charge",
        "nurse-9": "Otto Outsider",
    }


@ON_BOTH_ENGINES
@pytest.mark.parametrize(
    ("payload", "happened"),
    [(FULL, 2), (FULL, -90), (Note("warm"), 2), (Received(), 2), (Issued(), 2), (START, 2)],
    ids=["a set", "a set from before", "a note", "received", "issued", "started"],
)
def test_what_was_recorded_just_now_is_read_as_it_is_ever_after(
    charting: Charting, payload: Payload, happened: float
) -> None:
    charting.open()
    if not isinstance(payload, Issued):
        charting.issue()
    if isinstance(payload, Started):
        charting.record(1, SOUND)
        charting.record(1, CHECKED)
    fact = Draft(KIND_OF[type(payload)], at(happened), payload)

    with charting.store.write() as session:
        recorded = record_event(session, NURSE, "e1", fact, now=at(3))
        known = read_recorded(session, recorded, now=at(3))
        assert known == read_episode(session, NURSE, "e1", now=at(3))
    assert known == charting.episode(3)
    assert known.events[-1 if happened > 0 else 0].id == recorded.event_id


def test_it_says_what_is_missing_before_the_start(charting: Charting) -> None:
    charting.open()
    charting.issue()
    everything = charting.episode(1).missing
    charting.record(2, SOUND)
    charting.record(3, CHECKED)
    nothing = charting.episode(4).missing
    charting.record(5, START)

    assert everything == (
        "the bag was not inspected",
        "identity was not checked by two people at the bedside",
    )
    assert (nothing, charting.episode(6).missing) == ((), ())


def test_a_voided_fact_is_told_with_its_void(charting: Charting) -> None:
    charting.open()
    noted = charting.record(0, Note("seen"))
    void = charting.record(1, Voided(noted.event_id, "other bed"))

    read = charting.episode(2)

    assert kinds(read.events) == [Kind.NOTE, Kind.VOIDED]
    assert {old: new.id for old, new in read.voided_by.items()} == {noted.event_id: void.event_id}


def test_sets_of_the_patient_are_shown_from_a_look_back_on(charting: Charting) -> None:
    """Four hours before the issue, by the common policy."""
    for minute in (-241, -240, 5):
        charting.observe(minute)
    charting.open(now=6)
    charting.record(0, Issued(), now=at(6))

    shown = charting.episode(7).observations

    assert [event.happened_at for event in shown] == [at(-240), at(5)]


@ON_BOTH_ENGINES
def test_at_an_instant_and_as_known(charting: Charting) -> None:
    charting.open(now=-60)
    charting.issue(minute=0)
    charting.record(5, Received(), now=at(20))

    def seen(**asked: float) -> list[Kind]:
        return kinds(charting.episode(60, **asked).events)  # type: ignore[arg-type]

    assert (seen(at=4), seen(at=5)) == ([Kind.ISSUED], [Kind.ISSUED, Kind.RECEIVED])
    assert (seen(known_at=19), seen(known_at=20)) == (seen(at=4), seen(at=5))
    assert charting.episode(60, at=4).at == at(4)


def test_before_it_was_recorded_it_was_not_there(charting: Charting) -> None:
    charting.open(now=0)

    with pytest.raises(NotFound, match="the episode, as known then, was not found"):
        charting.episode(60, known_at=at(0, -1))

    assert charting.episode(60, known_at=0).events == ()


@pytest.mark.parametrize("facts", [1, 3])
def test_a_unit_of_one_fact_takes_as_many_queries_as_one_of_three(
    charting: Charting, facts: int
) -> None:
    charting.open()
    for minute in range(facts):
        charting.record(minute, FULL)

    with counted_queries(charting.store) as sent:
        charting.episode(20)

    assert len(sent) == 10
