"""The tick: look at every unit whose next change has come, and say what is owed.

The row is the queue. A tick that is skipped loses nothing; two at once do no harm: each works out
what is still due when its turn to write comes, and a reminder exists once by its identity.
"""

import logging
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import partial
from typing import Final

from server.domain.picture import Case
from server.services.cases import cases_of, read_case
from server.services.derived import Derived, derive
from server.services.raise_reminders import raise_owed
from server.services.refresh import store_derived
from server.services.set_aside import set_aside, why_not
from server.services.sound_cases import or_none
from server.store.checks import is_anything_due, look_again, note_check, was_ahead
from server.store.due import episodes_due
from server.store.put_back import set_right
from server.store.requests import read_requests
from server.store.sessions import WriteSession
from server.store.states import EpisodeState, read_states
from server.store.store import Store

HEARTBEAT: Final = "tick"
STEP: Final = timedelta(minutes=1)
"""Clocks of several machines differ by less; a step is larger."""
BATCH: Final = 50
MOST_BATCHES: Final = 100

_LOG: Final = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class Ticked:
    """What one tick did: units worked out, reminders raised, units that could not be."""

    episodes: int
    reminders: int
    faults: int


def tick(store: Store, *, now: datetime) -> Ticked:
    """Work out every unit that is due by `now`, then note that all wards were checked.

    Each batch is a transaction of its own, so that others get their turn to write between two.
    Raises `Away` when the database is; then nothing is noted, and the next tick catches up.
    """
    _put_back(store, now)
    done = Ticked(0, 0, 0)
    for _ in range(MOST_BATCHES):
        with store.write() as session:
            worked_out = _work_out(session, now)
            done = _add(done, worked_out)
            if worked_out.episodes + worked_out.faults < BATCH:
                note_check(session, HEARTBEAT, now)
                return done
    return done


def _put_back(store: Store, now: datetime) -> None:
    """Where the clock was put back, set right what it had run ahead of, and look at it anew."""
    with store.read() as session:
        if not was_ahead(session, HEARTBEAT, now + STEP):
            return
    with store.write() as session:
        _LOG.warning("the clock was put back by more than a minute: all units are looked at anew")
        look_again(session, now)
        set_right(session, now)
        note_check(session, HEARTBEAT, now)


def _work_out(session: WriteSession, now: datetime) -> Ticked:
    """One batch of what is due. A unit that cannot be worked out is set aside, with why."""
    if not is_anything_due(session, now):
        return Ticked(0, 0, 0)
    ids = [one.episode_id for one in episodes_due(session, now, limit=BATCH)]
    states = read_states(session, ids)
    derived: list[Derived] = []
    for episode_id, worked in zip(ids, _derive_all(session, states, ids, now), strict=True):
        if isinstance(worked, Derived):
            derived.append(worked)
        else:
            set_aside(session, states[episode_id], worked, now=now)
    store_derived(session, derived, states, now=now)
    reminders = raise_owed(session, [one.picture for one in derived], now=now)
    return Ticked(len(derived), reminders, len(ids) - len(derived))


def _derive_all(
    session: WriteSession, states: Mapping[str, EpisodeState], ids: list[str], now: datetime
) -> list[Derived | str]:
    """Read and work out a batch at once; one by one if something in it cannot even be read.

    Raises `Away`: of a database that is away none is asked after alone.
    """
    cases = or_none(lambda: cases_of(session, read_requests(session, ids), now=now, states=states))
    if cases is None:
        return [_try(partial(read_case, session, i, now=now), i, now) for i in ids]
    return [_try(partial(cases.__getitem__, i), i, now) for i in ids]


def _try(case_of: Callable[[], Case], episode_id: str, now: datetime) -> Derived | str:
    try:
        return derive(case_of(), now)
    except Exception as fault:  # noqa: BLE001 - one bad row must not stop the others, whatever it is
        _LOG.exception("episode %s could not be worked out", episode_id)
        return why_not(fault)


def _add(one: Ticked, other: Ticked) -> Ticked:
    return Ticked(
        one.episodes + other.episodes,
        one.reminders + other.reminders,
        one.faults + other.faults,
    )
