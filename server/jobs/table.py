"""The jobs: what is done how often. A new one is one entry here."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from server.domain.invariants import Patience
from server.jobs.deliver import run_deliver
from server.services.check_audit import keep_checking
from server.services.look_at_invariants import EVERY, keep_invariants
from server.services.tick import tick
from server.services.tidy import tidy
from server.services.watch_plans import watch_plans
from server.store.store import Store

REPAIR_SECONDS: Final = 2.0


@dataclass(frozen=True, slots=True)
class Job:
    """Something to do every so often; `run` is told the store and the present instant.

    `at_once` runs may be under way at the same time, where the next should not wait for one. The
    first comes `first_after` the start.
    """

    name: str
    every: timedelta
    run: Callable[[Store, datetime], object]
    at_once: int = 1
    first_after: timedelta = timedelta()


def run_tick(store: Store, now: datetime) -> object:
    """Look at every unit whose next change has come."""
    return tick(store, now=now)


def run_watch(store: Store, now: datetime) -> object:
    """Look whether accepted plans still hold; while one ward is searched, the next is looked at."""
    return watch_plans(store, now=now, seconds=REPAIR_SECONDS)


def run_tidy(store: Store, now: datetime) -> object:
    """Forget what is kept for a while only."""
    with store.write() as session:
        return tidy(session, now=now)


def run_audit(store: Store, now: datetime) -> object:
    """Check what was added to the audit trail since the last time."""
    return keep_checking(store, now=now)


def invariants_job(patience: Patience) -> Job:
    """Look at every invariant; for the first time once the others have had time to run."""

    def run(store: Store, now: datetime) -> object:
        return keep_invariants(store, now=now, patience=patience)

    return Job("invariants", EVERY, run, first_after=2 * Patience().tick)


JOBS: Final = (
    Job("tick", timedelta(seconds=1), run_tick),
    Job("deliver", timedelta(seconds=1), run_deliver, at_once=4),
    Job("plans", timedelta(seconds=1), run_watch, at_once=4),
    Job("tidy", timedelta(hours=1), run_tidy),
    Job("audit", timedelta(hours=1), run_audit),
)
