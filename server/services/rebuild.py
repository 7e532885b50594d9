"""Rebuild: work out every derived row anew from the facts, and count what differed."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Final

from server.domain.clock import SECOND
from server.domain.issued_units import issued_unit
from server.services.cases import load_cases
from server.services.derived import Derived, derive
from server.store.clock_states import ClockRecord, read_clocks, save_clocks
from server.store.issued_units import read_issued_units, save_issued_units
from server.store.requests import episode_ids_after
from server.store.sessions import WriteSession
from server.store.states import EpisodeState, read_states, save_states
from server.store.store import Store

BATCH: Final = 200

Progress = Callable[[int], None]


@dataclass(frozen=True, slots=True)
class Rebuilt:
    """How many units were worked out, and the ids of those whose rows were not what they should."""

    episodes: int
    differed: tuple[str, ...]


def rebuild(store: Store, *, now: datetime, progress: Progress = lambda _: None) -> Rebuilt:
    """Work out every unit and store what differs; on a healthy system nothing does.

    What time alone has changed since a unit was last looked at is the next tick's: each unit is
    compared as of the last instant its stored rows are good for, so no reminder is lost.
    """
    done, differed, last = 0, [], ""
    while True:
        with store.write() as session:
            ids = episode_ids_after(session, last, limit=BATCH)
            differed += _rebuild(session, ids, now)
        done += len(ids)
        progress(done)
        if len(ids) < BATCH:
            return Rebuilt(done, tuple(differed))
        last = ids[-1]


def _rebuild(session: WriteSession, ids: tuple[str, ...], now: datetime) -> list[str]:
    states, clocks = read_states(session, ids), read_clocks(session, ids)
    units = read_issued_units(session, ids)
    cases = load_cases(session, ids, now=now)
    differing: list[Derived] = []
    for episode_id in ids:
        state = states.get(episode_id)
        derived = derive(cases[episode_id], _good_until(state, now))
        as_stored = _same(derived, state, clocks.get(episode_id, ()))
        if not as_stored or issued_unit(derived.picture.episode) != units.get(episode_id):
            differing.append(derived)
    _store(session, differing)
    return [one.state.episode_id for one in differing]


def _good_until(state: EpisodeState | None, now: datetime) -> datetime:
    """The last instant up to `now` for which the stored rows can be right."""
    if state is None or state.next_change_at is None or state.fault is not None:
        return now
    return min(now, state.next_change_at - SECOND)


def _same(derived: Derived, state: EpisodeState | None, clocks: tuple[ClockRecord, ...]) -> bool:
    if state is None or replace(state, fault=None) != derived.state or state.fault is not None:
        return False
    return {one.key: one for one in clocks} == {one.key: one for one in derived.clocks}


def _store(session: WriteSession, differing: list[Derived]) -> None:
    save_states(session, [one.state for one in differing])
    save_clocks(session, {one.state.episode_id: one.clocks for one in differing})
    units = {one.state.episode_id: issued_unit(one.picture.episode) for one in differing}
    save_issued_units(session, units)
    for one in differing:
        session.touch(one.state.ward_id, [one.state.episode_id])
