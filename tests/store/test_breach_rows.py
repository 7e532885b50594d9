"""What was not kept, and what only looked so, are found by their indexes, whatever the history."""

from collections.abc import Callable
from typing import Any

import pytest

from server.domain.words import ClockName, ClockState, Component
from server.store.breach_rows import kept_after_all, passed_between
from server.store.clock_states import ClockRecord, save_clocks
from server.store.requests import add_requests
from server.store.sessions import ReadSession
from server.store.states import save_states
from server.store.store import Store
from server.store.transitions import Transition, add_transitions
from tests.domain.builders import at
from tests.store.facts import a_request, a_state, analyze, plans_of

MANY = 2_000
FIRST = ClockName.FIRST_CHECK
WARDS = ("w1",)

LISTS: tuple[tuple[Callable[[ReadSession], Any], str], ...] = (
    (
        lambda session: passed_between(session, WARDS, at(0), at(60)),
        "ix_clock_state_ward_id_breached_at_clock_state_component",
    ),
    (lambda session: kept_after_all(session, WARDS, at(0), at(60)), "ix_transition_at"),
)


def _tell(store: Store) -> None:
    """Units whose first check was shown as passed and met in time, one in two minutes."""
    ids = [f"u{number}" for number in range(MANY)]
    with store.write() as session:
        add_requests(session, [a_request(one) for one in ids])
        save_states(session, [a_state(one) for one in ids])
        kept = {one: [_clock(one, 2 * place)] for place, one in enumerate(ids)}
        save_clocks(session, kept)
        shown = (_shown(one, 2 * place) for place, one in enumerate(ids))
        add_transitions(session, [crossing for each in shown for crossing in each])
    analyze(store)


def _clock(episode_id: str, minute: int) -> ClockRecord:
    limit = at(minute)
    return ClockRecord(
        episode_id,
        "w1",
        FIRST,
        1,
        None,
        limit,
        limit,
        limit,
        ClockState.MET,
        component=Component.RED_CELLS,
    )


def _shown(episode_id: str, minute: int) -> tuple[Transition, ...]:
    passed = Transition(
        episode_id, FIRST, 1, ClockState.DUE, ClockState.OVERDUE, at(minute), at(minute)
    )
    told = Transition(
        episode_id, FIRST, 1, ClockState.OVERDUE, ClockState.MET, at(minute), at(minute + 9)
    )
    return passed, told


@pytest.mark.usefixtures("ward")
def test_each_list_walks_the_index_of_its_period(store: Store) -> None:
    _tell(store)

    for ask, index in LISTS:

        def look(ask: Callable[[ReadSession], Any] = ask) -> None:
            with store.read() as session:
                ask(session)

        assert index in plans_of(store, look), index


@pytest.mark.usefixtures("ward")
def test_what_was_kept_after_all_is_of_the_period_it_was_shown_in(store: Store) -> None:
    _tell(store)

    with store.read() as session:
        found = kept_after_all(session, WARDS, at(2), at(6))
        none = kept_after_all(session, ["w2"], at(2), at(6))

    assert [(one.episode_id, one.limit_at) for one in found] == [("u1", at(2)), ("u2", at(4))]
    assert none == ()
