"""A process says how it is, is judged by it, and is forgotten when it ends as it should."""

from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest

from server import __version__
from server.domain.invariants import JobRun, Patience, Process
from server.jobs.presence import Presence, process_as_it_is
from server.jobs.scheduler import Scheduler
from server.jobs.table import Job, invariants_job
from server.logs.lines import PROCESS
from server.services.look_at_invariants import EVERY
from server.settings import Settings
from server.store.errors import Away
from server.store.processes import database_now, read_processes
from server.store.store import Store
from tests.api.board_api import NOON, BoardApi
from tests.databases import PostgresServer, postgres
from tests.jobs.test_scheduler import FAST, wait_until
from tests.kept_log import Kept, kept

__all__ = ["kept", "postgres"]


def _settings(store: Store, folder: Path) -> Settings:
    return Settings(database=store.address, sheets=folder, key_file=folder / "mine.key")


def _said(store: Store) -> tuple[Process, ...]:
    with store.read() as session:
        return read_processes(session)


def test_a_process_tells_its_jobs_its_key_and_its_room_until_it_ends(
    ward: BoardApi, tmp_path: Path
) -> None:
    runs = (JobRun("tick", NOON, 2), JobRun("tidy", NOON, 9, failing_since=NOON))
    presence = Presence(ward.store, _settings(ward.store, tmp_path), ward.clock, lambda: runs)

    presence.start()
    wait_until(lambda: bool(_said(ward.store)))
    (said,) = _said(ward.store)
    (tmp_path / "mine.key").write_bytes(b"k" * 32)
    presence.say(NOON)
    (keyed,) = _said(ward.store)
    presence.stop()

    file = Path(ward.store.address.removeprefix("sqlite:///")).resolve()
    assert said == Process(
        said.id,
        PROCESS,
        __version__,
        NOON,
        NOON,
        may_lead=True,
        free=said.free,
        jobs=runs,
    )
    assert set(said.free or {}) == {str(tmp_path), str(file.parent)}
    assert all(free > 0 for free in (said.free or {}).values())
    assert (keyed.id, len(keyed.key), "k" * 8 in keyed.key) == (said.id, 16, False)
    assert _said(ward.store) == ()


def test_one_that_was_never_begun_ends_at_once_and_nobody_waits_for_a_lost_database(
    ward: BoardApi, tmp_path: Path
) -> None:
    Presence(ward.store, _settings(ward.store, tmp_path), ward.clock).stop()
    presence = Presence(ward.store, _settings(ward.store, tmp_path), ward.clock)

    presence.start()
    wait_until(lambda: bool(_said(ward.store)))
    presence.stop(is_away=True)

    assert len(_said(ward.store)) == 1


def test_a_folder_that_has_gone_has_no_room_and_the_rest_is_said(
    ward: BoardApi, tmp_path: Path
) -> None:
    gone = tmp_path / "gone"

    said = process_as_it_is(ward.store, _settings(ward.store, gone), ward.clock, started_at=NOON)

    assert (said.name, (said.free or {})[f"{gone}"]) == (PROCESS, 0)


def test_what_cannot_be_said_is_told_by_the_log_and_a_database_that_is_away_is_not(
    ward: BoardApi, tmp_path: Path, kept: Kept
) -> None:
    def failing(why: Exception) -> Callable[[], tuple[JobRun, ...]]:
        def runs() -> tuple[JobRun, ...]:
            told.append(why)
            raise why

        return runs

    told: list[Exception] = []
    for why in (Away("gone"), RuntimeError("a fault")):
        presence = Presence(ward.store, _settings(ward.store, tmp_path), ward.clock, failing(why))
        presence.start()
        wait_until(lambda why=why: why in told)  # type: ignore[misc]  # a cell of its own
        presence.stop()

    assert len(kept.of("how this process is could not be said")) == 1


def test_on_a_server_its_clock_is_compared_with_the_database_s(
    postgres: PostgresServer, tmp_path: Path
) -> None:
    store = Store(postgres.empty())
    with store.read() as session:
        theirs = database_now(session)
    assert theirs is not None
    ahead = theirs.replace(microsecond=0) + timedelta(hours=1)

    asked_and_heard = iter((ahead, theirs - timedelta(seconds=9), theirs + timedelta(seconds=9)))
    settings = _settings(store, tmp_path)
    said = process_as_it_is(store, settings, lambda: ahead, started_at=ahead)
    slow = process_as_it_is(store, settings, lambda: next(asked_and_heard), started_at=ahead)
    store.close()

    assert said.clock_ahead == pytest.approx(3_600, abs=5)
    assert (slow.clock_ahead, set(said.free or {})) == (0, {str(tmp_path)})


def test_the_scheduler_tells_the_last_run_of_each_job_and_since_when_it_fails(
    ward: BoardApi,
) -> None:
    def fail(_store: Store, _now: object) -> object:
        raise RuntimeError("a fault")

    jobs = [Job("note", FAST, lambda _, now: now), Job("unlucky", FAST, fail)]
    scheduler = Scheduler(ward.store, ward.clock, jobs)
    scheduler.start()
    try:
        wait_until(lambda: [one.failing_since for one in scheduler.runs()].count(NOON) == 1)
        wait_until(lambda: len(scheduler.runs()) == 2)
    finally:
        scheduler.stop()

    runs = {one.name: replace(one, milliseconds=0) for one in scheduler.runs()}
    assert runs == {
        "note": JobRun("note", NOON, 0),
        "unlucky": JobRun("unlucky", NOON, 0, failing_since=NOON),
    }


def test_invariants_are_looked_at_each_minute_once_the_others_had_time_to_run() -> None:
    job = invariants_job(Patience())

    assert (job.name, job.every, job.first_after) == ("invariants", EVERY, timedelta(seconds=20))
