"""Several processes on one PostgreSQL: one runs the jobs, another takes over, all hear of changes.

The figures that were measured are printed.
"""

import json
import os
import signal
import sys
from collections.abc import Callable, Iterator
from datetime import datetime, timedelta
from pathlib import Path
from threading import Thread
from time import monotonic, sleep
from typing import Any, Final, TypeVar

import httpx
import pytest
from sqlalchemy import text

from server.clock import utc_now
from server.store.heartbeat import last_beat
from server.store.lead import LEAD_KEY
from server.store.store import Store
from tests.databases import PostgresServer
from tests.faults.programs import Served
from tests.faults.small_ward import WARD, SmallWard, make_small_ward

TAKEN_OVER_SECONDS: Final = 5.0
SEEN_SECONDS: Final = 1.0
PATIENCE_SECONDS: Final = 30.0
LEADER: Final = text(
    "SELECT a.application_name FROM pg_locks l JOIN pg_stat_activity a USING (pid) "
    "WHERE l.locktype = 'advisory' AND l.objid = :key AND l.granted"
)
Found = TypeVar("Found")


@pytest.fixture(scope="module")
def ward(postgres: PostgresServer) -> SmallWard:
    """Units whose clocks pass their limits one after the other from now on."""
    return make_small_ward(postgres.empty(), utc_now())


@pytest.fixture
def store(ward: SmallWard) -> Iterator[Store]:
    """What the test itself looks at the database with; it runs no jobs."""
    opened = Store(str(ward.database))
    yield opened
    opened.close()


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Where the processes have their logs and their key."""
    return tmp_path_factory.mktemp("several")


@pytest.fixture(scope="module")
def served(ward: SmallWard, folder: Path) -> Iterator[list[Served]]:
    """Three processes on the database; the third has no part in the jobs."""
    running = [_begin(ward, folder, jobs) for jobs in ("yes", "yes", "no")]
    try:
        for one in running:
            one.wait_until_ready()
        yield running
    finally:
        for one in running:
            one.kill()


def _begin(ward: SmallWard, folder: Path, jobs: str) -> Served:
    return Served(ward.database, folder / "log", jobs=jobs, key_file=f"{folder / 'key'}")


def _say(figures: str) -> None:
    """A figure for whoever reads the log of the tests."""
    sys.stdout.write(f"\n{figures}\n")


def _leader(store: Store) -> int:
    """The process that has the lead; 0: none."""
    with store.read() as session:
        name = session.value(LEADER, {"key": LEAD_KEY})
    return int(str(name or "-0").rpartition("-")[2])


def _beat(store: Store) -> datetime:
    with store.read() as session:
        beat = last_beat(session, "tick")
    return utc_now() - timedelta(hours=1) if beat is None else beat.at


def _wait_for(what: Callable[[], Found | None]) -> tuple[Found, float]:
    """Wait until there is something; what, and after how many seconds."""
    begun = monotonic()
    while monotonic() - begun < PATIENCE_SECONDS:
        found = what()
        if found:
            return found, monotonic() - begun
        sleep(0.02)
    raise AssertionError("it did not come")


def test_one_leads_and_when_it_is_killed_or_cut_off_another_ticks_within_five_seconds(
    ward: SmallWard, folder: Path, store: Store, served: list[Served]
) -> None:
    first, _ = _wait_for(lambda: _leader(store))
    may_lead = [one.command.pid for one in served[:2]]
    served[may_lead.index(first)].kill()
    killed_at = utc_now()
    second, seconds = _wait_for(lambda: _leader(store) if _leader(store) != first else None)
    _, until_tick = _wait_for(lambda: _beat(store) > killed_at)
    _say(f"leader killed: another leads after {seconds:.2f} s, ticks {until_tick:.2f} s later")

    assert {first, second} == set(may_lead)
    assert seconds + until_tick < TAKEN_OVER_SECONDS

    with store.write() as session:
        session.plain("SELECT pg_terminate_backend(pid) FROM pg_locks WHERE objid = ?", LEAD_KEY)
    again, back = _wait_for(lambda: _leader(store))
    _say(f"its connection ended: it leads again after {back:.2f} s")
    assert again == second
    assert back < TAKEN_OVER_SECONDS

    served[may_lead.index(first)] = _begin(ward, folder, "yes")
    served[may_lead.index(first)].wait_until_ready()


def test_what_one_process_records_every_other_tells_its_streams_within_a_second(
    ward: SmallWard, served: list[Served]
) -> None:
    seconds = [_from_posted_to_seen(ward, served[0], served[2], number) for number in range(5)]
    _say(f"posted at one, seen at another after {max(seconds):.3f} s at most")

    assert max(seconds) < SEEN_SECONDS


def _from_posted_to_seen(ward: SmallWard, at: Served, other: Served, number: int) -> float:
    headers = {"Authorization": f"Bearer {ward.token}"}
    seen: list[tuple[int, float]] = []
    address = f"http://127.0.0.1:{other.port}/api/stream"

    with httpx.stream("GET", address, params={"ward_id": WARD}, headers=headers) as stream:
        lines = stream.iter_lines()
        while not next(lines).startswith("event: tick"):
            pass
        posting = Thread(target=lambda: seen.append(_post(ward, at, number)))
        posting.start()
        told = _until_changed(lines, f"e{number}")
        posting.join()
    return told - seen[0][1]


def _post(ward: SmallWard, at: Served, number: int) -> tuple[int, float]:
    answer = httpx.post(
        f"http://127.0.0.1:{at.port}/api/episodes/e{number}/events",
        headers={"Authorization": f"Bearer {ward.token}", "Idempotency-Key": f"note-{number}"},
        json={"kind": "note", "happened_at": f"{utc_now():%FT%TZ}", "text": "seen elsewhere"},
    )
    assert answer.status_code == 201, answer.text
    return answer.json()["revision"], monotonic()


def _until_changed(lines: Iterator[str], episode_id: str) -> float:
    for line in lines:
        if line.startswith("data: ") and episode_id in _ids_in(line):
            return monotonic()
    raise AssertionError("the stream ended")


def _ids_in(line: str) -> list[Any]:
    told = json.loads(line.removeprefix("data: "))
    return list(told.get("episode_ids", ())) if isinstance(told, dict) else []


def test_a_request_that_is_repeated_at_another_process_is_stored_once(
    ward: SmallWard, served: list[Served]
) -> None:
    body = {"kind": "note", "happened_at": f"{utc_now():%FT%TZ}", "text": "once"}
    headers = {"Authorization": f"Bearer {ward.token}", "Idempotency-Key": "the-same"}
    answers = [
        httpx.post(
            f"http://127.0.0.1:{one.port}/api/episodes/e1/events", headers=headers, json=body
        )
        for one in served
    ]

    assert [one.status_code for one in answers] == [201, 201, 201]
    assert len({one.json()["event_id"] for one in answers}) == 1


def test_a_leader_that_stands_still_does_no_harm_when_it_goes_on(
    store: Store, served: list[Served]
) -> None:
    first, _ = _wait_for(lambda: _leader(store))
    os.kill(first, signal.SIGSTOP)
    sleep(1.5)
    os.kill(first, signal.SIGCONT)
    stopped_at = utc_now()
    _wait_for(lambda: _beat(store) > stopped_at)

    assert _leader(store) == first
    assert [one.command.poll() for one in served] == [None, None, None]
