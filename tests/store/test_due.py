"""The tick asks an index, and what is closed costs it nothing."""

from itertools import count
from typing import Any, Final

import pytest
from sqlalchemy import text

from server.store.due import (
    Due,
    earliest_change,
    episodes_due,
    faulty_episodes,
    set_fault,
)
from server.store.requests import add_requests
from server.store.states import read_state, save_states
from server.store.store import Store
from server.store.wards import Ward
from tests.domain.builders import around, at
from tests.store.facts import a_request, a_state, analyze, plans_of

CLOSED: Final = 3_000
ENTRIES: Final = {
    "sqlite": (
        "SELECT count(*) FROM episode_state "
        "INDEXED BY ix_episode_state_next_change_at_episode_id WHERE next_change_at IS NOT NULL"
    ),
    "postgresql": (
        "SELECT CAST(reltuples AS int) FROM pg_class "
        "WHERE relname = 'ix_episode_state_next_change_at_episode_id'"
    ),
}


@pytest.fixture
def states(store: Store, ward: Ward) -> None:
    """Changes at 10, 20 and 20 minutes, and one episode that changes no more."""
    with store.write() as session:
        add_requests(session, [a_request(f"e{n}", "p1", ward_id=ward.id) for n in (3, 4)])
        changes = {"e1": at(20), "e2": at(10), "e3": at(20), "e4": None}
        save_states(session, [a_state(name, next_change_at=at) for name, at in changes.items()])


@pytest.mark.usefixtures("states")
def test_episodes_are_due_from_their_instant_on_the_longest_due_first(store: Store) -> None:
    first = Due("e2", "w1")
    then = (Due("e1", "w1"), Due("e3", "w1"))

    with store.read() as session:
        found = [episodes_due(session, now) for now in (*around(at(10)), at(20))]
        limited = episodes_due(session, at(20), limit=2)

    assert found == [(), (first,), (first,), (first, *then)]
    assert limited == (first, then[0])


@pytest.mark.usefixtures("states")
def test_the_earliest_change_is_known(store: Store) -> None:
    with store.read() as session:
        assert earliest_change(session) == at(10)


def test_nothing_changes_on_an_empty_board(store: Store) -> None:
    with store.read() as session:
        assert (earliest_change(session), episodes_due(session, at(0))) == (None, ())


@pytest.mark.usefixtures("states")
def test_an_episode_with_a_fault_is_put_aside_for_a_while(store: Store) -> None:
    (due,) = _due(store, 10)
    with store.write() as session:
        set_fault(session, due.episode_id, fault="no policy", retry_at=at(11))

    with store.read() as session:
        faulty, state = faulty_episodes(session), read_state(session, "e2")
    assert faulty == (("e2", "no policy"),)
    assert state == a_state("e2", next_change_at=at(11), fault="no policy")
    assert _due(store, 10) == ()


@pytest.mark.usefixtures("ward")
def test_the_scan_walks_the_partial_index_in_its_order(store: Store) -> None:
    _close(store, CLOSED)

    plan = plans_of(store, lambda: _due(store, 20))

    assert "ix_episode_state_next_change_at_episode_id" in plan
    assert [word for word in ("Seq Scan", "SCAN", "Sort", "TEMP B-TREE") if word in plan] == []


@pytest.mark.usefixtures("ward")
def test_closed_episodes_are_not_in_the_index_at_all(store: Store) -> None:
    _close(store, CLOSED)

    with store.read() as session:
        assert session.value(text(ENTRIES[session.engine_name])) == 1


@pytest.mark.usefixtures("ward")
@pytest.mark.parametrize("address", ["sqlite"], indirect=True)
def test_the_scan_takes_as_many_steps_however_many_are_closed(store: Store) -> None:
    _close(store, 10)
    few = _steps(store)
    _close(store, CLOSED)

    assert (few > 0, _steps(store)) == (True, few)


def _due(store: Store, minute: int) -> tuple[Due, ...]:
    with store.read() as session:
        return episodes_due(session, at(minute))


def _close(store: Store, episodes: int) -> None:
    """One episode that still changes, and so many that never will again."""
    closed = [a_request(f"c{episodes}-{number}", "p1") for number in range(episodes)]
    with store.write() as session:
        add_requests(session, closed)
        save_states(session, [a_state(request.id, patient_id="p1") for request in closed])
        save_states(session, [a_state(next_change_at=at(10))])
    analyze(store)


def _steps(store: Store) -> int:
    """How many instructions SQLite carries out for the scan."""
    steps = count()
    with store.read() as session:
        driver: Any = session._connection.connection.driver_connection
        driver.set_progress_handler(lambda: next(steps) and None, 1)
        assert len(episodes_due(session, at(20))) == 1
        driver.set_progress_handler(None, 1)
    return next(steps)
