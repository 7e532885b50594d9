"""Which episodes can be on the board: never too few."""

from datetime import datetime

import pytest

from server.store.board import (
    Moved,
    Stamp,
    begun_episode_ids,
    changed_since,
    live_episode_ids,
    moved_since,
    next_changes,
    open_episode_ids,
)
from server.store.requests import add_requests
from server.store.states import EpisodeState, save_states
from server.store.store import Store
from server.store.wards import Ward, add_ward
from tests.domain.builders import around, at
from tests.store.facts import a_request, a_state, plans_of


@pytest.fixture(autouse=True)
def _other_ward(store: Store, ward: Ward) -> None:
    """An episode of another ward, live at all times: it must never be answered for `w1`."""
    with store.write() as session:
        add_ward(session, Ward("w2", "Ward 5", ward.timezone, at(0)))
        add_requests(session, [a_request(f"e{n}", "p1") for n in (3, 4)])
        add_requests(session, [a_request("x1", "p1", ward_id="w2")])
        save_states(session, [a_state("x1", ward_id="w2", patient_id="p1", first_at=None)])


def test_an_episode_is_live_from_its_first_fact_until_it_is_off_the_board(store: Store) -> None:
    _save(store, a_state(first_at=at(0), open_until=at(60)))

    assert [_live(store, instant) for instant in around(at(0))] == [(), ("e1",), ("e1",)]
    assert [_live(store, instant) for instant in around(at(60))] == [("e1",), (), ()]


def test_an_episode_without_facts_or_without_an_end_is_live(store: Store) -> None:
    _save(store, a_state("e1", first_at=None), a_state("e2", first_at=at(0), open_until=None))

    assert [_live(store, at(minute)) for minute in (-999, 0, 999)] == [
        ("e1",),
        ("e1", "e2"),
        ("e1", "e2"),
    ]


def test_what_was_not_recorded_yet_was_not_on_the_board(store: Store) -> None:
    _save(store, a_state(recorded_at=at(10), last_recorded_at=at(10)))

    found = [_live(store, at(30), known_at) for known_at in around(at(10))]

    assert found == [(), ("e1",), ("e1",)]


def test_an_end_that_was_not_known_yet_keeps_an_episode_on_the_board(store: Store) -> None:
    _save(store, a_state(open_until=at(20), last_recorded_at=at(40)))

    known = [_live(store, at(30), known_at) for known_at in around(at(40))]

    assert (known, _live(store, at(30))) == ([("e1",), (), ()], ())


def test_the_present_and_the_past_are_found_by_index(store: Store) -> None:
    _save(store, *(a_state(f"e{n}", patient_id="p1") for n in (1, 2, 3, 4)))

    plan = plans_of(store, lambda: (_live(store, at(0)), _live(store, at(0), at(0))))

    if store.address.startswith("sqlite"):
        assert [line for line in plan.splitlines() if line.startswith("SCAN")] == []


def test_changes_since_a_revision_are_told_the_latest_last(store: Store) -> None:
    _save(store, *(a_state(f"e{n}", patient_id="p1") for n in (1, 2, 3)))
    for touched in (["e3", "e1"], ["e2"], ["e1"]):
        with store.write() as session:
            session.touch("w1", touched)
            session.touch("w2", ["x1"])

    with store.read() as session:
        told = [changed_since(session, "w1", revision) for revision in (0, 1, 2, 3)]

    third, second, first = Stamp("e3", 1), Stamp("e2", 2), Stamp("e1", 3)
    assert told == [(third, second, first), (second, first), (first,), ()]


def test_what_moved_is_told_with_its_next_change(store: Store) -> None:
    _save(store, a_state("e1", next_change_at=at(5)), a_state("e2"))
    for touched in (["e1"], ["e2"]):
        with store.write() as session:
            session.touch("w1", touched)

    with store.read() as session:
        moved = [moved_since(session, "w1", revision) for revision in (0, 1, 2)]
        changes = next_changes(session, ["e1", "e2", "e9"])

    assert [set(some) for some in moved] == [
        {Moved("e1", at(5), 1), Moved("e2", None, 1)},
        {Moved("e2", None, 1)},
        set(),
    ]
    assert changes == {"e1": at(5), "e2": None}


def test_what_had_begun_is_listed_even_when_it_is_off_the_board(store: Store) -> None:
    _save(
        store,
        a_state("e1", first_at=at(0), open_until=at(60)),
        a_state("e2", first_at=None, recorded_at=at(30)),
    )

    with store.read() as session:
        begun = [begun_episode_ids(session, "w1", instant) for instant in around(at(0))]
        known = [begun_episode_ids(session, "w1", at(90), known_at=then) for then in around(at(30))]

    assert begun == [("e2",), ("e1", "e2"), ("e1", "e2")]
    assert known == [("e1",), ("e1", "e2"), ("e1", "e2")]


def test_the_open_episodes_of_a_patient_are_found_in_every_ward(store: Store) -> None:
    _save(
        store,
        a_state("e1", open_until=at(60)),
        a_state("e2", patient_id="p2"),
        a_state("e3", patient_id="p1", open_until=None),
    )

    with store.read() as session:
        found = [open_episode_ids(session, ["p1"], instant) for instant in around(at(60))]
        both = open_episode_ids(session, ["p2", "p1", "p9"], at(0))

    assert found == [("e1", "e3", "x1"), ("e3", "x1"), ("e3", "x1")]
    assert both == ("e1", "e2", "e3", "x1")


def _save(store: Store, *states: EpisodeState) -> None:
    with store.write() as session:
        save_states(session, states)


def _live(store: Store, instant: datetime, known_at: datetime | None = None) -> tuple[str, ...]:
    with store.read() as session:
        return live_episode_ids(session, "w1", instant, known_at=known_at)
