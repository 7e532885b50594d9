"""Rebuild: work out every derived row anew from the facts, and count what differed."""

from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Final

from server.domain.clock import SECOND
from server.domain.issued_units import issued_unit
from server.services.derived import Derived, derive
from server.services.sound_cases import follow_soundly, sound_cases
from server.store.clock_states import ClockRecord, read_clocks, save_clocks
from server.store.issued_units import read_issued_units, save_issued_units
from server.store.requests import episode_ids_after
from server.store.sessions import ReadSession, WriteSession
from server.store.states import EpisodeState, read_states, save_states
from server.store.store import Store

BATCH: Final = 200

Progress = Callable[[int], None]
Worked = tuple[Derived, EpisodeState | None]


@dataclass(frozen=True, slots=True)
class Rebuilt:
    """How many units were looked at, and the ids of those whose rows were not what they should.

    `unreadable` could not be worked out: their rows are as they were.
    """

    episodes: int
    differed: tuple[str, ...]
    unreadable: tuple[str, ...] = ()


def rebuild(
    store: Store, clock: Callable[[], datetime], *, progress: Progress = lambda _: None
) -> Rebuilt:
    """Work out every unit and store what differs; on a healthy system nothing does.

    What time alone has changed since a unit was last looked at is the next tick's: each unit is
    compared as of the last instant its stored rows are good for, so no reminder is lost. The clock
    is asked for each batch: on a board that runs, rows are as young as the batch is.
    """
    done, last = 0, ""
    differed: list[str] = []
    unreadable: list[str] = []
    while True:
        with store.write() as session:
            ids = episode_ids_after(session, last, limit=BATCH)
            worked = worked_out(session, ids, clock())
            differed += _rebuild(session, worked)
        unreadable += [one for one in ids if one not in worked]
        done += len(ids)
        progress(done)
        if len(ids) < BATCH:
            return Rebuilt(done, tuple(differed), tuple(unreadable))
        last = ids[-1]


def worked_out(session: ReadSession, ids: Collection[str], now: datetime) -> dict[str, Worked]:
    """Answer each unit that can be worked out, with its row as it is stored.

    As of the last instant that its row is good for: what changed since is the next tick's.
    """
    states = read_states(session, ids)
    found = follow_soundly(
        sound_cases(session, ids, now=now).cases.values(),
        lambda case: derive(case, _good_until(states.get(case.request.id), now)),
    )
    return {episode_id: (one, states.get(episode_id)) for episode_id, one in found.items()}


def differing(session: ReadSession, worked: Mapping[str, Worked]) -> list[Derived]:
    """Answer the units whose rows are not what they should be, as they should."""
    clocks, units = read_clocks(session, worked), read_issued_units(session, worked)
    return [
        derived
        for episode_id, (derived, state) in worked.items()
        if not _same(derived, state, clocks.get(episode_id, ()))
        or issued_unit(derived.picture.episode) != units.get(episode_id)
    ]


def _rebuild(session: WriteSession, worked: Mapping[str, Worked]) -> list[str]:
    differed = differing(session, worked)
    _store(session, differed)
    return [one.state.episode_id for one in differed]


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
