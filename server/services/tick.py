"""The tick: look at every unit whose next change has come, and say what is owed.

The row is the queue. A tick that is skipped loses nothing; two at once do no harm, because each
unit is stored only by the one who saw it unchanged, and a reminder exists once by its identity.
"""

import logging
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import partial
from typing import Final

from server.domain.picture import Case
from server.services.cases import load_cases
from server.services.derived import Derived, derive
from server.services.raise_reminders import raise_owed
from server.services.refresh import store_derived
from server.store.checks import is_anything_due, note_check
from server.store.due import Due, episodes_due, set_fault
from server.store.sessions import WriteSession
from server.store.store import Store

HEARTBEAT: Final = "tick"
RETRY_AFTER: Final = timedelta(seconds=30)
BATCH: Final = 50
MOST: Final = 5_000

_LOG: Final = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class Ticked:
    """What one tick did: units worked out, reminders raised, units that could not be."""

    episodes: int
    reminders: int
    faults: int


def tick(store: Store, *, now: datetime) -> Ticked:
    """Work out every unit that is due by `now`, then note that all wards were checked.

    Raises `Away` when the database is; then nothing is noted, and the next tick catches up.
    """
    with store.write() as session:
        if not is_anything_due(session, now):
            note_check(session, HEARTBEAT, now)
            return Ticked(0, 0, 0)
        due = episodes_due(session, now, limit=MOST)
    done = Ticked(0, 0, 0)
    for start in range(0, len(due), BATCH):
        done = _add(done, _work_out(store, due[start : start + BATCH], now))
    with store.write() as session:
        note_check(session, HEARTBEAT, now)
    return done


def _work_out(store: Store, due: tuple[Due, ...], now: datetime) -> Ticked:
    """One batch in one transaction. A unit that cannot be worked out is set aside, with why."""
    with store.write() as session:
        derived: list[Derived] = []
        faults = 0
        for one, worked in zip(due, _derive_all(session, due, now), strict=True):
            if isinstance(worked, Derived):
                derived.append(worked)
            else:
                faults += set_fault(session, one, fault=worked, retry_at=now + RETRY_AFTER)
        return _store(session, due, derived, faults, now)


def _store(
    session: WriteSession,
    due: tuple[Due, ...],
    derived: list[Derived],
    faults: int,
    now: datetime,
) -> Ticked:
    seen = {one.episode_id: one.seen for one in due}
    stored = store_derived(session, derived, now=now, seen=seen)
    looked = [one.picture for one in derived if one.state.episode_id in stored]
    return Ticked(len(stored), raise_owed(session, looked, now=now), faults)


def _derive_all(session: WriteSession, due: tuple[Due, ...], now: datetime) -> list[Derived | str]:
    """Read and work out a batch at once; one by one if something in it cannot even be read."""
    ids = [one.episode_id for one in due]
    try:
        cases = load_cases(session, ids, now=now)
    except Exception:  # noqa: BLE001 - which of them it is shows when each is read alone
        return [_try(partial(_load_one, session, i, now), i, now) for i in ids]
    return [_try(partial(cases.__getitem__, i), i, now) for i in ids]


def _load_one(session: WriteSession, episode_id: str, now: datetime) -> Case:
    return load_cases(session, [episode_id], now=now)[episode_id]


def _try(case_of: Callable[[], Case], episode_id: str, now: datetime) -> Derived | str:
    try:
        return derive(case_of(), now)
    except Exception as fault:  # noqa: BLE001 - one bad row must not stop the others, whatever it is
        _LOG.exception("episode %s could not be worked out", episode_id)
        return f"{type(fault).__name__}: {fault}"[:500]


def _add(one: Ticked, other: Ticked) -> Ticked:
    return Ticked(
        one.episodes + other.episodes,
        one.reminders + other.reminders,
        one.faults + other.faults,
    )
