"""The disk is slow: facts take longer, and are kept; boards, streams and reminders go on.

Under SQLite each wait for the disk takes 0.3 s more, by a library that is loaded before the C
library; a PostgreSQL gets a tenth of its time. The figures that were measured are printed.
"""

from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, nullcontext
from datetime import datetime
from pathlib import Path
from time import monotonic, sleep
from typing import Final

import pytest

from server.clock import utc_now
from server.store.log import events_after
from server.store.reminders import reminders_since
from server.store.store import Store
from tests.databases import PostgresServer
from tests.faults.asking import following, look_at_board, say, signed_in, until_normal
from tests.faults.posting import Address, Client, finish
from tests.faults.programs import Commanded, Running, address_of, ending
from tests.faults.slow_disk import SYNC_MILLISECONDS, make_slow_sync, slow_server
from tests.faults.small_ward import WARD, SmallWard, make_small_ward
from tests.faults.whole import require_whole

CLIENTS: Final = 6
UNITS: Final = 30
SLOW_SECONDS: Final = 8.0
LEAST_BOARDS: Final = 3
LATE_SECONDS: Final = 60.0

Slow = tuple[SmallWard, Callable[[], AbstractContextManager[None]]]


@pytest.fixture(params=["sqlite", "postgresql"])
def slow(request: pytest.FixtureRequest, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Slow:
    """A ward, and what makes its disk slow; under a file it is from the beginning."""
    if request.param == "sqlite":
        library = make_slow_sync(tmp_path)
        ward = make_small_ward(tmp_path / "ward.db", utc_now(), UNITS)
        monkeypatch.setenv("LD_PRELOAD", f"{library}")
        return ward, nullcontext
    server: PostgresServer = request.getfixturevalue("postgres")
    return make_small_ward(server.empty(), utc_now(), UNITS), lambda: slow_server(server)


def test_a_slow_disk_makes_facts_wait_and_nothing_else(slow: Slow, tmp_path: Path) -> None:
    ward, slowly = slow
    secret, key = signed_in(ward), f"{tmp_path / 'key'}"
    with ending(Commanded(ward.database, tmp_path / "log", key_file=key)) as served:
        served.wait_until_ready()
        until_normal(served, ward)
        clients = [Client(ward, Address(served.port), n) for n in range(CLIENTS)]
        with following(served, ward) as stream, slowly():
            since, begun_at = monotonic(), utc_now()
            for client in clients:
                client.start()
            boards = list(_look(served, secret))
            finish(clients)
            until, over_at = monotonic(), utc_now()
            silence = stream.longest_silence(since, until)
        seconds = until_normal(served, ward)

    kept = sum(len(client.acknowledged) for client in clients)
    late, waited = _latest(ward, begun_at, over_at), max(client.slowest for client in clients)
    say(
        f"a slow disk for {until - since:.0f} s: {kept} facts of {CLIENTS} clients were kept, "
        f"{sum(client.repeated for client in clients)} repeated, none took more than "
        f"{waited:.1f} s; the board came within "
        f"{max(boards):.2f} s, reminders within {late:.1f} s, the stream was silent for at most "
        f"{silence:.1f} s; normal {seconds:.2f} s later"
    )
    assert [client.fault for client in clients] == [""] * CLIENTS
    assert kept >= CLIENTS
    assert waited > SYNC_MILLISECONDS / 1_000
    assert {one for client in clients for one in client.acknowledged.values()} <= _log(ward)
    assert len(boards) >= LEAST_BOARDS
    assert (silence < until - since, late < LATE_SECONDS) == (True, True)
    require_whole(ward.database)


def _look(served: Running, secret: str) -> Iterator[float]:
    """Open the board again and again; how long each took."""
    end = monotonic() + SLOW_SECONDS
    while monotonic() < end:
        answer = look_at_board(served, secret)
        assert answer.status == 200
        yield answer.seconds
        sleep(0.2)


def _latest(ward: SmallWard, since: datetime, until: datetime) -> float:
    """By how many seconds a reminder of this time came late at most; some have to have come."""
    store = Store(address_of(ward.database))
    with store.read() as session:
        raised = reminders_since(session, WARD, since)
    store.close()
    return max(
        (one.raised_at - one.owed_at).total_seconds() for one in raised if one.raised_at <= until
    )


def _log(ward: SmallWard) -> set[str]:
    """The ids of all facts."""
    store = Store(address_of(ward.database))
    with store.read() as session:
        found = {one.event.id for one in events_after(session, 0, limit=100_000)}
    store.close()
    return found
