"""Derived rows: saved by whoever is not late, compared, and stamped by the commit."""

from dataclasses import replace

import pytest

from server.domain.breach_list import Passed
from server.domain.words import ClockName, ClockState, Component, Fate, Level, Phase, Priority
from server.store.breach_rows import passed_between
from server.store.clock_states import ClockRecord, read_clocks, save_clocks
from server.store.states import read_state, read_states, save_states
from server.store.store import Store
from server.store.transitions import Transition, add_transitions, transitions_of
from tests.domain.builders import at
from tests.store.facts import a_state, counted_queries

FULL = a_state(
    phase=Phase.RUNNING,
    level=Level.OVERDUE,
    open_until=at(600),
    next_change_at=at(15),
    component=Component.PLATELETS,
    priority=Priority.URGENT,
    nurse_id="nurse-1",
    removed_at=at(-1),
    issued_at=at(0),
    started_at=at(10),
    ended_at=at(90),
    reassessed_at=at(95),
    fate=Fate.TRANSFUSED,
    fate_at=at(96),
    states={"finish:1": "open", "first_check:1": "due"},
    fault="no policy",
)
START = ClockRecord(
    episode_id="e1",
    ward_id="w1",
    clock=ClockName.START,
    n=1,
    opens_at=at(0),
    due_at=at(30),
    limit_at=at(30),
    met_at=at(31),
    state=ClockState.MET_LATE,
    breached_at=at(30),
    component=Component.PLATELETS,
    nurse_id="nurse-1",
    cause="porter late",
)
FIRST = replace(START, clock=ClockName.FIRST_CHECK, met_at=None, state=ClockState.OVERDUE)
RUNNING = ClockRecord(
    "e1", "w1", ClockName.RUNNING_CHECK, 2, None, None, None, None, ClockState.PENDING
)
OTHERS = replace(START, episode_id="e2", ward_id="w2", met_at=None, state=ClockState.MISSED)

pytestmark = pytest.mark.usefixtures("ward")


def test_a_state_comes_back_as_it_was_saved(store: Store) -> None:
    with store.write() as session:
        save_states(session, [FULL, a_state("e2")])

    with store.read() as session:
        assert read_states(session, ["e1", "e2", "e9"]) == {"e1": FULL, "e2": a_state("e2")}
        assert read_state(session, "e9") is None


def test_a_state_is_saved_over_the_one_before(store: Store) -> None:
    newer = replace(FULL, revision=2)
    with store.write() as session:
        save_states(session, [FULL])
        save_states(session, [newer, a_state("e2")])

    with store.read() as session:
        assert read_states(session, ["e1", "e2"]) == {"e1": newer, "e2": a_state("e2")}


@pytest.mark.parametrize("ids", [["e1"], ["e1", "e2", "e3"]], ids=["one", "three"])
def test_many_states_take_one_query(store: Store, ids: list[str]) -> None:
    with store.read() as session, counted_queries(store) as sent:
        read_states(session, ids)
        read_clocks(session, ids)

    assert len(sent) == 2


def test_clocks_are_made_to_be_these_and_no_others(store: Store) -> None:
    moved = replace(FIRST, met_at=at(29), state=ClockState.MET, breached_at=None)
    with store.write() as session:
        changes = [
            save_clocks(session, {"e1": [START, FIRST], "e2": [OTHERS]}),
            save_clocks(session, {"e1": [START, FIRST], "e2": [OTHERS]}),
            save_clocks(session, {"e1": [moved, RUNNING]}),
        ]

    with store.read() as session:
        saved = read_clocks(session, ["e1", "e2"])
    assert (changes, saved) == ([3, 0, 3], {"e1": (moved, RUNNING), "e2": (OTHERS,)})


def test_breaches_are_listed_by_ward_and_limit(store: Store) -> None:
    with store.write() as session:
        save_clocks(session, {"e1": [START, FIRST, RUNNING], "e2": [OTHERS]})

    with store.read() as session:
        found = [
            passed_between(session, wards, at(low), at(high))
            for wards, low, high in (
                (["w1"], 30, 31),
                (["w1"], 29, 30),
                (["w2"], 0, 60),
                (["w1", "w2", "w1"], 30, 31),
            )
        ]
    here, there = {_passed(FIRST), _passed(START)}, {_passed(OTHERS)}
    assert [set(one) for one in found] == [here, set(), there, here | there]
    assert [len(one) for one in found] == [2, 0, 1, 3]


def _passed(record: ClockRecord) -> Passed:
    return Passed(*(getattr(record, name) for name in Passed._fields))


def test_crossings_are_kept_in_the_order_of_notice(store: Store) -> None:
    opened = Transition("e1", ClockName.START, 1, None, ClockState.OPEN, at(0), at(9))
    due = Transition("e1", ClockName.START, 1, ClockState.OPEN, ClockState.DUE, at(30), at(31))
    other = replace(due, episode_id="e2")
    with store.write() as session:
        add_transitions(session, [opened, other])
        add_transitions(session, [due])
        add_transitions(session, [])

    with store.read() as session:
        assert transitions_of(session, "e1") == (opened, due)
