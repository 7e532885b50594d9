"""Several processes on one PostgreSQL: one runs the jobs, another takes over, all hear of changes.

The figures that were measured are printed.
"""

import json
from collections.abc import Iterator
from pathlib import Path
from time import monotonic, sleep

import pytest

from server.clock import utc_now
from server.store.lead import LEAD_KEY
from server.store.store import Store
from tests.databases import PostgresServer
from tests.faults.asking import following, post_note, say, wait_for
from tests.faults.leading import has_ticked_since, leaders
from tests.faults.power import standing_still
from tests.faults.programs import Served
from tests.faults.small_ward import SmallWard, make_small_ward


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


def test_one_leads_and_when_it_is_killed_or_cut_off_another_ticks(
    ward: SmallWard, folder: Path, store: Store, served: list[Served]
) -> None:
    (first,), _ = wait_for(lambda: leaders(store))
    may_lead = [one.process.pid for one in served[:2]]
    served[may_lead.index(first)].kill()
    killed_at = utc_now()
    (second,), seconds = wait_for(lambda: [one for one in leaders(store) if one != first])
    _, until_tick = wait_for(lambda: has_ticked_since(store, killed_at))
    say(f"leader killed: another leads after {seconds:.2f} s, ticks {until_tick:.2f} s later")

    assert {first, second} == set(may_lead)

    with store.write() as session:
        session.plain("SELECT pg_terminate_backend(pid) FROM pg_locks WHERE objid = ?", LEAD_KEY)
    again, back = wait_for(lambda: leaders(store))
    say(f"its connection ended: it leads again after {back:.2f} s")
    assert again == [second]

    served[may_lead.index(first)] = _begin(ward, folder, "yes")
    served[may_lead.index(first)].wait_until_ready()


def test_what_one_process_records_every_other_tells_its_streams(
    ward: SmallWard, served: list[Served]
) -> None:
    seconds = [_from_posted_to_seen(ward, served[0], served[2], number) for number in range(5)]
    say(f"posted at one, seen at another after {max(seconds):.3f} s at most")


def _from_posted_to_seen(ward: SmallWard, at: Served, other: Served, number: int) -> float:
    with following(other, ward) as stream:
        posted = post_note(at, ward, f"note-{number}", number)
        answered = monotonic()
        told, _ = wait_for(lambda: stream.told_of(f"e{number}"))
    assert posted.status == 201, posted.text
    return told - answered


def test_a_request_that_is_repeated_at_another_process_is_stored_once(
    ward: SmallWard, served: list[Served]
) -> None:
    now = utc_now()
    answers = [post_note(one, ward, "the-same", 1, now) for one in served]

    assert [one.status for one in answers] == [201, 201, 201]
    assert len({json.loads(one.text)["event_id"] for one in answers}) == 1


def test_a_leader_that_stands_still_does_no_harm_when_it_goes_on(
    store: Store, served: list[Served]
) -> None:
    (first,), _ = wait_for(lambda: leaders(store))
    with standing_still(first):
        sleep(1.5)
    stopped_at = utc_now()
    wait_for(lambda: has_ticked_since(store, stopped_at))

    assert leaders(store) == [first]
    assert [one.process.poll() for one in served] == [None, None, None]
