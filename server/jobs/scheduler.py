"""Runs the jobs in this process. It is a doorbell: what is due stands in the database."""

import logging
from collections.abc import Iterable
from dataclasses import replace
from datetime import UTC, datetime
from time import perf_counter
from typing import Any, Final

from apscheduler.events import EVENT_JOB_MISSED
from apscheduler.schedulers.background import BackgroundScheduler

from server.clock import Clock, utc_now
from server.domain.invariants import JobRun
from server.jobs.table import JOBS, Job
from server.logs import belong_to, new_number
from server.store.errors import Away
from server.store.store import Store

_LOG: Final = logging.getLogger(__name__)


class Scheduler:
    """Runs each job by the real clock, no more at once than it allows; told what `clock` shows.

    Of several processes on one database only the one that has the lead does.

    A run that comes late is run all the same, and runs that were missed count as one: the
    process may have been suspended, and what was owed meanwhile is still owed.
    """

    def __init__(self, store: Store, clock: Clock, jobs: Iterable[Job] = JOBS) -> None:
        self._failing: dict[str, datetime] = {}
        self._runs: dict[str, JobRun] = {}
        self._clock = clock
        self._lead = store.lead
        self._scheduler = BackgroundScheduler(timezone=UTC)
        for job in jobs:
            self._add(job, store)
        self._scheduler.add_listener(self._on_missed, EVENT_JOB_MISSED)

    def start(self) -> None:
        """Begin; the first runs come at once."""
        _quiet()
        self._scheduler.start()

    def stop(self) -> None:
        """End, after the run that is under way."""
        self._scheduler.shutdown(wait=True)
        self._lead.give_up()

    def runs(self) -> tuple[JobRun, ...]:
        """The last run of each job in this process, in the order of the first."""
        return tuple(
            replace(run, failing_since=self._failing.get(run.name))
            for run in [*self._runs.values()]
        )

    def _add(self, job: Job, store: Store) -> None:
        self._scheduler.add_job(
            lambda: self._run(job, store),
            "interval",
            id=job.name,
            seconds=job.every.total_seconds(),
            next_run_time=utc_now() + job.first_after,
            misfire_grace_time=None,
            coalesce=True,
            max_instances=job.at_once,
        )

    def _run(self, job: Job, store: Store) -> None:
        # It stays with the thread until its next run: what is said of this one belongs to it.
        belong_to(job=job.name, run=new_number())
        try:
            if not self._lead.held():
                # Whoever leads now tells how it fares; here it did not work again.
                self._failing.pop(job.name, None)
                return
            self._timed(job, store)
        except Exception as fault:  # noqa: BLE001 - a job that fails is run again
            self._say_failing(job, fault)
        else:
            self._say_working(job)

    def _timed(self, job: Job, store: Store) -> None:
        at, begun = self._clock(), perf_counter()
        try:
            job.run(store, at)
        finally:
            milliseconds = round((perf_counter() - begun) * 1_000)
            self._runs[job.name] = JobRun(job.name, at, milliseconds)
        _LOG.debug("ran", extra={"ms": milliseconds})

    def _on_missed(self, event: Any) -> None:
        _LOG.error("job %s was not run at %s", event.job_id, event.scheduled_run_time)

    def _say_failing(self, job: Job, fault: Exception) -> None:
        """Say once that a job fails, not each second."""
        if job.name in self._failing:
            return
        self._failing[job.name] = self._clock()
        if isinstance(fault, Away):
            _LOG.error("job %s fails: the database is away", job.name)
        else:
            _LOG.error("job %s fails", job.name, exc_info=fault)

    def _say_working(self, job: Job) -> None:
        if job.name in self._failing:
            self._failing.pop(job.name)
            _LOG.warning("job %s works again", job.name)


def _quiet() -> None:
    """A run that is late or still under way is no news each second; faults are said above."""
    logging.getLogger("apscheduler").setLevel(logging.CRITICAL)
