"""The state of the program as the administrator's page reads it: who leads, who looks, and when."""

from dataclasses import replace

import pytest

from server.domain.invariants import Invariant, Standing
from server.services.actor import Actor
from server.services.errors import Forbidden
from server.services.look_at_invariants import keep_invariants
from server.store.processes import forget_process
from tests.domain.builders import at
from tests.services.charting import Charting
from tests.services.people import CHARGE, MANAGER, NURSE
from tests.services.test_invariants import HERE, NOW, PATIENCE, chart, look, say, state_at

__all__ = ["chart"]


def test_who_leads_and_whether_the_first_look_is_still_to_come(ward: Charting) -> None:
    """Of two that say that they lead the one counts that said it last."""
    started = replace(HERE, id="new", started_at=at(31.5), seen_at=at(31.9))
    look(ward.store)
    looked = state_at(ward.store)
    say(ward.store, replace(started, may_lead=False, leads=False))
    beside = state_at(ward.store, 31.9)
    say(ward.store, started)
    both = state_at(ward.store, 31.9)
    with ward.store.write() as session:
        forget_process(session, HERE.id)
    alone = state_at(ward.store, 31.9)
    say(ward.store, replace(started, seen_at=at(36)))
    late = state_at(ward.store, 36)
    silent = state_at(ward.store, 36.6)

    assert [one.is_starting for one in (looked, beside, both, alone, late)] == [
        False,
        False,
        False,
        True,
        False,
    ]
    assert [one.leader and one.leader.id for one in (looked, beside, both, alone)] == [
        "here",
        None,
        "new",
        "new",
    ]
    assert [one.leader is None for one in (late, silent)] == [False, True]


def test_before_the_first_look_only_the_tick_is_known(charting: Charting) -> None:
    charting.tick(NOW)
    say(charting.store, replace(HERE, started_at=at(30.9), leads=False))

    state = state_at(charting.store)

    assert (state.looked_at, state.is_starting, state.leader) == (None, True, None)
    assert [one.finding.invariant for one in state.kept] == [Invariant.CLOCKS_CHECKED]


def test_before_anybody_looked_there_is_nothing_to_be_said(charting: Charting) -> None:
    state = state_at(charting.store)

    found = keep_invariants(charting.store, now=at(0), patience=PATIENCE)
    said = {one.invariant: (one.standing, one.found) for one in found}
    assert (state.looked_at, state.is_stale, state.kept) == (None, True, ())
    assert said[Invariant.AUDIT_WHOLE] == (Standing.HOLDS, "it has not been checked yet")
    assert said[Invariant.KEY_READABLE][0] is Standing.IDLE


def test_once_nobody_ticks_and_looks_any_more_it_is_said_by_whoever_reads(ward: Charting) -> None:
    look(ward.store)
    fresh, late = state_at(ward.store, 34), state_at(ward.store, 34.1)

    assert [(one.is_stale, len(one.broken)) for one in (fresh, late)] == [(False, 1), (True, 1)]
    (tick,) = late.broken
    assert (tick.finding.found, tick.since) == ("the last tick succeeded 3 min ago", NOW)


@pytest.mark.parametrize("actor", [NURSE, CHARGE, MANAGER], ids=lambda one: one.id)
def test_who_keeps_no_board_running_is_refused(charting: Charting, actor: Actor) -> None:
    with pytest.raises(Forbidden):
        state_at(charting.store, actor=actor)
