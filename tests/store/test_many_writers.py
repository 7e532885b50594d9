"""Many write at once: nothing is lost, and nobody starves."""

import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from threading import Barrier, Event
from time import monotonic

import pytest

from server.store.engines import PATIENCE_SECONDS
from server.store.errors import Away
from server.store.heartbeat import last_beat
from server.store.store import Store
from tests.store.one_writer import add_one

WRITERS = 8
WRITES = 50


def test_eight_threads_that_read_add_and_save_lose_nothing(store: Store) -> None:
    _together(store)

    assert _count(store) == WRITERS * WRITES


def test_eight_threads_are_served_alike(store: Store) -> None:
    served = _together(store)

    first_done = min(len(served) - served[::-1].index(writer) for writer in range(WRITERS))
    by_then = [served[:first_done].count(writer) for writer in range(WRITERS)]
    assert min(by_then) >= WRITES * 0.9


def test_two_processes_lose_nothing(store: Store) -> None:
    command = [sys.executable, "-m", "tests.store.one_writer", store.address, str(WRITES)]
    processes = [subprocess.Popen(command) for _ in range(2)]

    assert [process.wait(150) for process in processes] == [0, 0]
    assert _count(store) == 2 * WRITES


def test_a_writer_waits_for_another_process_only_so_long(store: Store) -> None:
    impatient = Store(store.address, patience_seconds=1)

    with store.write() as session:
        add_one(session)
        with pytest.raises(Away), impatient.write():
            pytest.fail("two write at once")
    impatient.close()

    assert _count(store) == 1


def test_beside_a_busy_process_another_gets_its_turn(store: Store) -> None:
    other, enough = Store(store.address), Event()

    def write_all_the_time() -> None:
        while not enough.is_set():
            with store.write() as session:
                add_one(session)

    with ThreadPoolExecutor(WRITERS) as pool:
        busy = [pool.submit(write_all_the_time) for _ in range(WRITERS)]
        waits = [_seconds_to_write(other) for _ in range(WRITES)]
        enough.set()
    other.close()

    assert [one.result() for one in busy] == [None] * WRITERS
    assert max(waits) < PATIENCE_SECONDS / 2


def _seconds_to_write(store: Store) -> float:
    begun = monotonic()
    with store.write() as session:
        add_one(session)
    return monotonic() - begun


def _together(store: Store) -> list[int]:
    """Have all writers begin at once; who was served, in order."""
    begin, served = Barrier(WRITERS), list[int]()

    def write(writer: int) -> None:
        begin.wait()
        for _ in range(WRITES):
            with store.write() as session:
                add_one(session)
                served.append(writer)

    with ThreadPoolExecutor(WRITERS) as pool:
        list(pool.map(write, range(WRITERS)))
    return served


def _count(store: Store) -> int:
    with store.read() as session:
        beat = last_beat(session, "count")
    return int(beat.detail or 0) if beat else 0
