"""The network between a process and the database is cut: another one takes over, and gives back.

The process runs on a host of its own and does not end; nothing tells it, and nothing tells the
server. The figures that were measured are printed.
"""

from collections.abc import Iterator
from pathlib import Path
from time import monotonic
from typing import Final

import pytest

from server.clock import utc_now
from server.store.store import Store
from tests.databases import PostgresServer
from tests.faults.asking import following, get, post_note, say, until_normal, wait_for
from tests.faults.leading import has_ticked_since, leaders
from tests.faults.network import Host, another_host, listening
from tests.faults.programs import Running, Served, ending
from tests.faults.small_ward import SmallWard, make_small_ward
from tests.faults.whole import require_whole

TAKEN_OVER_SECONDS: Final = 60.0
"""What nobody bounds, a cut line would keep for a quarter of an hour and longer."""


@pytest.fixture
def host() -> Iterator[Host]:
    """Another host."""
    with another_host() as made:
        yield made


@pytest.fixture
def where(host: Host, postgres: PostgresServer) -> Iterator[str]:
    """Where the server is found from there."""
    with listening(postgres, host.gateway) as found:
        yield found


def test_who_is_cut_off_loses_the_lead_and_is_normal_again_afterwards(
    host: Host, where: str, postgres: PostgresServer, tmp_path: Path
) -> None:
    ward = make_small_ward(postgres.empty(), utc_now())
    database, log, key = str(ward.database), tmp_path / "log", f"{tmp_path / 'key'}"
    name = database.partition("?")[0].rpartition("/")[2]
    there = f"postgresql+psycopg://postgres@{where}/{name}"
    store = Store(database)
    with ending(host.serve(there, log, key_file=key)) as cut_off:
        cut_off.wait_until_ready()
        wait_for(lambda: leaders(store) == [cut_off.process.pid])
        with ending(Served(database, log, key_file=key)) as other:
            other.wait_until_ready()
            _cut_and_mend(host, ward, store, cut_off, other)
    store.close()


def _cut_and_mend(
    host: Host, ward: SmallWard, store: Store, cut_off: Running, other: Running
) -> None:
    with following(cut_off, ward) as stream:
        host.cut()
        since, cut_at = monotonic(), utc_now()
        _, lost = wait_for(lambda: leaders(store) == [other.process.pid])
        _, ticked = wait_for(lambda: has_ticked_since(store, cut_at))
        written = post_note(other, ward, "at-the-other")
        refused = post_note(cut_off, ward, "cut-off")
        alive, ready = get(cut_off, "/healthz", ward), get(cut_off, "/readyz", ward)
        host.mend()
        until = monotonic()
        seconds = until_normal(cut_off, ward)
        repeated = post_note(cut_off, ward, "cut-off")
        silence = stream.longest_silence(since, until)
        wait_for(lambda: stream.of("changed", until))

    say(
        f"cut off for {until - since:.0f} s: another led after {lost:.1f} s and ticked "
        f"{ticked:.1f} s later; at the one cut off a fact was answered {refused.status} in "
        f"{refused.seconds:.1f} s and its stream was silent for at most {silence:.1f} s; it was "
        f"ready {seconds:.1f} s after the network was back"
    )
    assert lost + ticked < TAKEN_OVER_SECONDS
    assert (refused.problem, written.status, repeated.status) == ("database-away", 201, 201)
    assert (alive.status, ready.status, stream.ended) == (200, 503, False)
    assert leaders(store) == [other.process.pid]
    require_whole(ward.database)
