"""Fill a database with a past: what happened day by day, and what the board noted of it.

Facts are told by this process, in the order of time. Working them out needs all facts of a patient,
so that it comes afterwards, in as many processes as there are processors, while this one writes.
"""

from collections import deque
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import Future, ProcessPoolExecutor
from dataclasses import dataclass
from datetime import datetime
from functools import cache
from multiprocessing import get_context
from os import cpu_count
from typing import Final

from seed_demo.year.floor import Floor, House
from seed_demo.year.past import days_of
from server.services.actor import SYSTEM
from server.services.keep_past import keep_past
from server.services.work_out_past import (
    Told,
    WorkedOut,
    keep_worked_out,
    list_not_worked_out,
    read_told,
    work_out_past,
)
from server.store.store import Store

BATCH: Final = 100
AHEAD: Final = 6
"""How many batches may lie worked out before they are stored: memory stays flat."""

ROUND: Final = 40
"""After so many batches nobody reads for a moment, so that SQLite can begin its log anew."""

ALONE: Final = 1_000
"""Up to so many units this process works out itself: others take longer to come up."""

Progress = Callable[[str, int, int], None]
"""Told what is being done, how much of it is, and how much there is of it."""


@dataclass(frozen=True, slots=True)
class Batch:
    """Units that are worked out together, by the database's address, at an instant."""

    address: str
    episode_ids: Sequence[str]
    now: datetime


def fill(
    store: Store,
    address: str,
    house: House,
    floors: Sequence[Floor],
    *,
    progress: Progress,
    alone: int = ALONE,
) -> int:
    """Store the past of wards that were set up; how many units it holds.

    Up to `alone` units are worked out by this process.
    """
    days = (house.until.date() - house.begins.date()).days + 1
    for done, past in enumerate(days_of(house, floors), 1):
        with store.write() as session:
            keep_past(session, SYSTEM, past)
        progress("days", done, days)
    with store.read() as session:
        ids = list_not_worked_out(session, SYSTEM)
    batches = [Batch(address, ids[n : n + BATCH], house.until) for n in range(0, len(ids), BATCH)]
    worked_out = _here(store, batches) if len(ids) <= alone else _elsewhere(batches)
    return _keep(store, worked_out, len(ids), progress)


def _keep(store: Store, worked_out: Iterable[WorkedOut], units: int, progress: Progress) -> int:
    done = 0
    for one in worked_out:
        with store.write() as session:
            keep_worked_out(session, SYSTEM, one)
        done += len(one.states)
        progress("units", done, units)
    return done


def _here(store: Store, batches: Sequence[Batch]) -> Iterator[WorkedOut]:
    for batch in batches:
        with store.read() as session:
            yield work_out_past(session, read_told(session), batch.episode_ids, now=batch.now)


def _elsewhere(batches: Sequence[Batch]) -> Iterator[WorkedOut]:
    """In other processes, in the same order, never more than a few ahead."""
    with ProcessPoolExecutor(cpu_count(), mp_context=get_context("spawn")) as pool:
        for first in range(0, len(batches), ROUND):
            yield from _one_round(pool, batches[first : first + ROUND])


def _one_round(pool: ProcessPoolExecutor, batches: Sequence[Batch]) -> Iterator[WorkedOut]:
    waiting: deque[Future[WorkedOut]] = deque()
    for batch in batches:
        waiting.append(pool.submit(_work_out_there, batch))
        if len(waiting) > AHEAD:
            yield waiting.popleft().result()
    while waiting:
        yield waiting.popleft().result()


def _work_out_there(batch: Batch) -> WorkedOut:
    store, told = _opened(batch.address)
    with store.read() as session:
        return work_out_past(session, told, batch.episode_ids, now=batch.now)


@cache
def _opened(address: str) -> tuple[Store, Told]:
    """One store for each process, which ends with it, and whom reminders went to."""
    store = Store(address)
    with store.read() as session:
        return store, read_told(session)
