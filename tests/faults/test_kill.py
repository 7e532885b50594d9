"""Killed in the middle of its work, again and again: what was acknowledged is there, once."""

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from random import Random
from statistics import median
from time import monotonic, sleep
from typing import Final

import pytest
from sqlalchemy import text

from server.clock import utc_now
from server.store.store import Store
from tests.faults.posting import Address, Client
from tests.faults.programs import Served, run_program
from tests.faults.small_ward import PATHWAY, SmallWard, make_small_ward

KILLS: Final = 50
CLIENTS: Final = 3
SEED: Final = 20_261_125
LATEST_SECONDS: Final = 0.3


@dataclass(frozen=True)
class Figures:
    """What happened, for whoever reads the log of the tests."""

    starts: list[float]
    seconds: float
    acknowledged: int
    repeated: int

    def __str__(self) -> str:
        return (
            f"killed {KILLS} times in {self.seconds:.0f} s; "
            f"a start took {median(self.starts):.2f} s, at most {max(self.starts):.2f}; "
            f"{self.acknowledged} events acknowledged, {self.repeated} requests repeated"
        )


@pytest.mark.timeout(900)
def test_whatever_was_acknowledged_is_there_once_after_fifty_kills(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    ward = make_small_ward(tmp_path / "ward.db", utc_now())
    address = Address()
    clients = [Client(ward, address, number) for number in range(CLIENTS)]

    figures = _kill_again_and_again(ward, address, clients, tmp_path / "log")

    with capsys.disabled():
        sys.stdout.write(f"\n{figures}\n")
    acknowledged = [event_id for client in clients for event_id in client.acknowledged.values()]
    assert [client.fault for client in clients] == [""] * CLIENTS
    assert sorted(acknowledged) == sorted(_recorded(ward))
    assert figures.repeated >= KILLS / 2, "the kills met nobody at work"
    units = len(ward.episode_ids)
    assert run_program(ward.database, "rebuild") == (
        f"{units} episodes were worked out, 0 differed\n"
    )


def _kill_again_and_again(
    ward: SmallWard, address: Address, clients: list[Client], log: Path
) -> Figures:
    """While one process serves, the next one is started; then the first is killed."""
    chance, begun = Random(SEED), monotonic()  # noqa: S311 - moments, not secrets
    served = Served(ward.database, log)
    starts = [served.wait_until_ready()]
    address.port = served.port
    for client in clients:
        client.start()
    for _ in range(KILLS):
        with ending(served):
            following = Served(ward.database, log)
            starts.append(following.wait_until_ready())
            sleep(chance.uniform(0, LATEST_SECONDS))
        served, address.port = following, following.port
    with ending(served):
        _finish(clients)
    done = sum(len(client.acknowledged) for client in clients)
    repeated = sum(client.repeated for client in clients)
    return Figures(starts, monotonic() - begun, done, repeated)


@contextmanager
def ending(served: Served) -> Iterator[None]:
    """Kill it at the end, whatever came between."""
    try:
        yield
    finally:
        served.kill()


def _finish(clients: list[Client]) -> None:
    """Let every client have its last answer."""
    for client in clients:
        client.enough.set()
    for client in clients:
        client.join(60)
        assert not client.is_alive()


def _recorded(ward: SmallWard) -> list[str]:
    """The ids of the events in the log, without those the ward began with."""
    store = Store(f"sqlite:///{ward.database}")
    with store.read() as session:
        rows = session.rows(text("SELECT id FROM event ORDER BY position"))
    store.close()
    return [str(row[0]) for row in rows[len(PATHWAY) * len(ward.episode_ids) :]]
