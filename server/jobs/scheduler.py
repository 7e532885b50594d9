"""Runs the jobs in this process. It is a doorbell: what is due stands in the database."""

import logging
from collections.abc import Iterable
from dataclasses import replace
from datetime import UTC, datetime
from time import perf_counter
from typing import Any, Final

from apscheduler.events import EVENT_JOB_ERROR, EVENT_JOB_EXECUTED, EVENT_JOB_MISSED
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
        self._scheduler.add_listener(self._on_error, EVENT_JOB_ERROR)
        self._scheduler.add_listener(self._on_success, EVENT_JOB_EXECUTED)

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
            lambda: self._run(job, store) if store.lead.held() else None,
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
        at, begun = self._clock(), perf_counter()
        try:
            job.run(store, at)
        finally:
            milliseconds = round((perf_counter() - begun) * 1_000)
            self._runs[job.name] = JobRun(job.name, at, milliseconds)
        _LOG.debug("ran", extra={"ms": milliseconds})

    def _on_missed(self, event: Any) -> None:
        _LOG.error("job %s was not run at %s", event.job_id, event.scheduled_run_time)

    def _on_error(self, event: Any) -> None:
        """Say once that a job fails, not each second."""
        if event.job_id in self._failing:
            return
        self._failing[event.job_id] = self._clock()
        if isinstance(event.exception, Away):
            _LOG.error("job %s fails: the database is away", event.job_id)
        else:
            _LOG.error("job %s fails", event.job_id, exc_info=event.exception)

    def _on_success(self, event: Any) -> None:
        if event.job_id in self._failing:
            self._failing.pop(event.job_id)
            _LOG.warning("job %s works again", event.job_id)


def _quiet() -> None:
    """What the scheduler's own log says each second of a failing job is said once above."""
    logging.getLogger("apscheduler").setLevel(logging.CRITICAL)
