"""The scheduler: a doorbell that keeps ringing, and says once when nobody can come."""

import logging
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from threading import Event
from time import monotonic, sleep
from types import SimpleNamespace
from typing import Any

import pytest

from server.jobs.scheduler import Scheduler
from server.jobs.table import JOBS, Job
from server.services.tick import tick
from server.store.errors import Away
from server.store.store import Store
from tests.api.board_api import NOON, BoardApi, problem_of
from tests.kept_log import Kept, kept

__all__ = ["kept"]

FAST = timedelta(milliseconds=20)


def wait_until(holds: Callable[[], bool], seconds: float = 60) -> None:
    """Wait for what the scheduler's threads do."""
    until = monotonic() + seconds
    while not holds():
        assert monotonic() < until, "waited in vain"
        sleep(0.01)


def ran(ward: BoardApi, jobs: list[Job], done: Callable[[], bool]) -> None:
    """Run jobs until something holds."""
    scheduler = Scheduler(ward.store, ward.clock, jobs)
    scheduler.start()
    try:
        wait_until(done)
    finally:
        scheduler.stop()


def test_what_is_done_each_second_and_what_each_hour() -> None:
    assert [(job.name, job.every) for job in JOBS] == [
        ("tick", timedelta(seconds=1)),
        ("deliver", timedelta(seconds=1)),
        ("plans", timedelta(seconds=1)),
        ("tidy", timedelta(hours=1)),
        ("audit", timedelta(hours=1)),
    ]


def test_the_real_jobs_raise_what_is_owed(ward: BoardApi) -> None:
    ward.record("e1", "issued", NOON - timedelta(minutes=22))

    ran(ward, list(JOBS), lambda: len(ward.get("/api/reminders", ward_id="w1").json()) == 2)

    assert ward.get("/api/board", ward_id="w1").json()["checked_at"] == "2026-03-03T12:00:00Z"


def test_a_job_is_told_the_clock_of_the_board(ward: BoardApi) -> None:
    told: list[datetime] = []

    ran(ward, [Job("note", FAST, lambda _, now: told.append(now))], lambda: bool(told))

    assert set(told) == {NOON}


def test_a_job_never_runs_twice_at_once_and_makes_up_for_nothing(ward: BoardApi) -> None:
    running: list[int] = []
    most: list[int] = []

    def slow(_: Store, __: datetime) -> None:
        running.append(1)
        most.append(len(running))
        sleep(0.1)
        running.pop()

    begun = monotonic()
    ran(ward, [Job("slow", FAST, slow)], lambda: len(most) >= 3)

    assert max(most) == 1
    assert len(most) <= (monotonic() - begun) / 0.1 + 2


def test_a_job_that_fails_goes_on_and_is_said_once(
    ward: BoardApi, caplog: pytest.LogCaptureFixture
) -> None:
    tries: list[int] = []

    def fail(_: Store, __: datetime) -> None:
        tries.append(1)
        if len(tries) < 4:
            raise RuntimeError("no luck")

    with caplog.at_level(logging.WARNING, logger="server.jobs.scheduler"):
        ran(ward, [Job("unlucky", FAST, fail)], lambda: "works again" in caplog.text)

    said = [record.message for record in caplog.records]
    assert said == ["job unlucky fails", "job unlucky works again"]
    assert caplog.records[0].exc_info is not None


def test_a_database_that_is_away_is_no_fault_of_the_job(
    ward: BoardApi, caplog: pytest.LogCaptureFixture
) -> None:
    seen = Event()

    def away(_: Store, __: datetime) -> None:
        seen.set()
        raise Away("gone")

    with caplog.at_level(logging.WARNING, logger="server.jobs.scheduler"):
        ran(ward, [Job("tick", FAST, away)], lambda: bool(caplog.records))

    (record,) = caplog.records
    assert (record.message, record.exc_info) == ("job tick fails: the database is away", None)


def test_a_run_that_was_missed_is_said(ward: BoardApi, caplog: pytest.LogCaptureFixture) -> None:
    scheduler = Scheduler(ward.store, ward.clock, [])
    missed: Any = SimpleNamespace(
        job_id="tick", scheduled_run_time=datetime(2026, 3, 3, tzinfo=UTC)
    )

    with caplog.at_level(logging.ERROR, logger="server.jobs.scheduler"):
        scheduler._on_missed(missed)

    assert caplog.messages == ["job tick was not run at 2026-03-03 00:00:00+00:00"]


def test_without_a_tick_the_board_is_not_ready(ward: BoardApi) -> None:
    answer = ward.client.get("/readyz")

    assert (answer.status_code, problem_of(answer)["failing"]) == (503, "tick")
    assert int(answer.headers["retry-after"]) > 0


@pytest.mark.parametrize(("seconds", "status"), [(10, 200), (11, 503)])
def test_a_tick_is_good_for_ten_seconds(ward: BoardApi, seconds: int, status: int) -> None:
    tick(ward.store, now=NOON)
    ward.clock.now = NOON + timedelta(seconds=seconds)

    answer = ward.client.get("/readyz")

    assert answer.status_code == status
    if status == 200:
        assert answer.json() == {"status": "ready", "last_tick_at": "2026-03-03T12:00:00Z"}
    else:
        said = problem_of(answer)
        assert (said["failing"], said["detail"]) == ("tick", "The last tick succeeded 11 s ago.")


def test_without_a_database_the_board_is_alive_and_not_ready(
    ward: BoardApi, monkeypatch: pytest.MonkeyPatch
) -> None:
    def away() -> Any:
        raise Away("gone")

    monkeypatch.setattr(ward.store, "read", away)

    ready, alive = ward.client.get("/readyz"), ward.client.get("/healthz")

    assert (ready.status_code, problem_of(ready)["failing"]) == (503, "database")
    assert (alive.status_code, alive.json()) == (200, {"status": "alive"})


def test_what_a_job_tells_belongs_to_its_run(ward: BoardApi, kept: Kept) -> None:
    """Also what is said of it once it has failed; another run is another number."""

    def fail(_store: Store, _now: datetime) -> object:
        logging.getLogger("server.jobs").warning("under way")
        raise RuntimeError("a fault")

    ran(ward, [Job("unlucky", FAST, fail)], lambda: len(kept.of("under way")) >= 2)

    first, second, *_ = kept.of("under way")
    (said,) = kept.of("job unlucky fails")
    assert (first["job"], first["run"], said["run"]) == ("unlucky", said["run"], first["run"])
    assert second["run"] != first["run"]


def test_who_does_not_lead_any_more_says_of_no_job_that_it_works_again(
    ward: BoardApi, caplog: pytest.LogCaptureFixture
) -> None:
    tries: list[int] = []

    def fail(_: Store, __: datetime) -> None:
        tries.append(1)
        raise RuntimeError("no luck")

    scheduler, job = Scheduler(ward.store, ward.clock, []), Job("unlucky", FAST, fail)
    leads = Store(ward.store.address)

    with caplog.at_level(logging.WARNING, logger="server.jobs.scheduler"):
        scheduler._run(job, ward.store)
        ward.store.lead.give_up()
        assert leads.lead.held()
        scheduler._run(job, ward.store)
    leads.close()

    assert (len(tries), caplog.messages) == (1, ["job unlucky fails"])
    assert [run.failing_since for run in scheduler.runs()] == [None]
