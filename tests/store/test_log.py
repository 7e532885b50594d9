"""The log takes events in order and gives them back as they were."""

from dataclasses import replace
from typing import Any

import pytest

from server.domain.payloads import Issued, Note, Received
from server.domain.words import BloodGroup
from server.store.errors import Clash
from server.store.log import (
    Logged,
    append_events,
    events_after,
    last_position,
    next_position,
    read_event,
    ward_events_after,
)
from server.store.store import Store
from tests.domain.builders import at, told
from tests.store.facts import record

ISSUED = Issued(
    removed_at=at(-3), unit_number="G1", blood_group=BloodGroup.O_NEG, expires_at=at(9), volume_ml=1
)

pytestmark = pytest.mark.usefixtures("ward")


def test_an_event_comes_back_as_it_was(store: Store) -> None:
    with store.write() as session:
        recorded = record(session, 0, ISSUED, staff_id="nurse-2", recorded_at=at(7))

    with store.read() as session:
        found = read_event(session, recorded.id)

    assert found == Logged(recorded, "p1", "w1")


def test_an_event_that_is_not_there_is_none(store: Store) -> None:
    with store.read() as session:
        assert read_event(session, "e9") is None


def test_the_log_of_a_ward_holds_only_what_was_recorded_there(store: Store) -> None:
    with store.write() as session:
        before = last_position(session)
        events = [record(session, place, Note(f"n{place}")) for place in range(2)]
        elsewhere = told((9, Note("of a patient on no ward")))[0]
        elsewhere = replace(elsewhere, id="e9", position=next_position(session))
        append_events(session, [elsewhere], patient_id="p1", ward_id=None)

    with store.read() as session:
        of_ward = [item.event for item in ward_events_after(session, "w1", 0)]
        rest = [item.event for item in ward_events_after(session, "w1", 1)]
        assert (before, of_ward, rest, last_position(session)) == (0, events, events[1:], 3)


def test_positions_count_up_from_one(store: Store) -> None:
    with store.write() as session:
        first = next_position(session)
        record(session, 0, ISSUED)

        assert (first, next_position(session)) == (1, 2)


def test_the_log_is_read_on_from_a_place_in_it(store: Store) -> None:
    with store.write() as session:
        events = [record(session, -place, Note(f"n{place}")) for place in range(4)]

    with store.read() as session:
        after = events_after(session, 1, limit=2)

    assert [logged.event for logged in after] == events[1:3]


@pytest.mark.parametrize("taken", [{"id": "e1"}, {"position": 1}], ids=["id", "position"])
def test_an_id_or_a_place_that_is_taken_is_a_clash(store: Store, taken: dict[str, Any]) -> None:
    with store.write() as session:
        record(session, 0, ISSUED)
    first, second = told((0, ISSUED), (1, Received()))
    clashing = replace(second, **taken)

    with pytest.raises(Clash), store.write() as session:
        append_events(session, [clashing], patient_id="p1", ward_id="w1")

    with store.read() as session:
        logged = [item.event for item in events_after(session, 0)]
    assert logged == [replace(first, episode_id="e1")]


def test_an_event_of_an_unknown_episode_is_a_clash(store: Store) -> None:
    with pytest.raises(Clash), store.write() as session:
        record(session, 0, ISSUED, episode_id="e9")
