"""Killed in the middle of its work, again and again: what was acknowledged is there, once.

And what reminders were raised meanwhile has arrived: each at least once, under one identity.
"""

import sys
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
from tests.faults.post_office import (
    BRIDGES,
    PostOffice,
    fates_in,
    letters_of,
    reminders_in,
    stage_of,
    unreliable,
    wait_until_empty,
)
from tests.faults.posting import Address, Client, finish
from tests.faults.programs import Running, Served, address_of, ending, run_program
from tests.faults.small_ward import PATHWAY, SmallWard, make_small_ward

KILLS: Final = 50
CLIENTS: Final = 3
SEED: Final = 20_261_125
LATEST_SECONDS: Final = 0.4


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
def test_after_fifty_kills_what_was_acknowledged_is_there_once_and_every_reminder_arrived(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with unreliable() as office:
        ward = make_small_ward(tmp_path / "ward.db", utc_now(), webhooks=office.addresses())
        address = Address()
        clients = [Client(ward, address, number) for number in range(CLIENTS)]
        begun = monotonic()

        figures = _kill_again_and_again(ward, address, clients, tmp_path / "log")

        _say(capsys, figures)
        acknowledged = [event_id for client in clients for event_id in client.acknowledged.values()]
        assert [client.fault for client in clients] == [""] * CLIENTS
        assert sorted(acknowledged) == sorted(_recorded(ward))
        assert figures.repeated >= KILLS / 2, "the kills met nobody at work"
        _require_delivered(ward, office, capsys)
    units = len(ward.episode_ids)
    assert run_program(ward.database, "rebuild") == (
        f"{units} episodes were worked out, 0 differed\n"
    )
    _say(capsys, f"all of it took {monotonic() - begun:.0f} s")


def _kill_again_and_again(
    ward: SmallWard, address: Address, clients: list[Client], log: Path
) -> Figures:
    """While one process serves, the next one is started; then the first is killed."""
    chance, begun = Random(SEED), monotonic()  # noqa: S311 - moments, not secrets
    served: Running = Served(ward.database, log)
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
    seconds = monotonic() - begun
    with ending(served):
        finish(clients)
        wait_until_empty(ward.database)
    done = sum(len(client.acknowledged) for client in clients)
    repeated = sum(client.repeated for client in clients)
    return Figures(starts, seconds, done, repeated)


def _recorded(ward: SmallWard) -> list[str]:
    """The ids of the events in the log, without those the ward began with."""
    store = Store(address_of(ward.database))
    with store.read() as session:
        rows = session.rows(text("SELECT id FROM event ORDER BY position"))
    store.close()
    return [str(row[0]) for row in rows[len(PATHWAY) * len(ward.episode_ids) :]]


def _require_delivered(
    ward: SmallWard, office: PostOffice, capsys: pytest.CaptureFixture[str]
) -> None:
    """Every reminder of the ward came to every receiver, each under one id; nothing else did."""
    raised, came = reminders_in(ward.database), letters_of(office, ward)
    needed, requests = len(raised) * BRIDGES, len(office.receiver.received)
    twice = sum(times > 1 for times in office.taken.values())
    _say(
        capsys,
        f"{len(raised)} reminders for {BRIDGES} webhooks: {needed} messages came in {requests} "
        f"requests, {twice} were taken and came again",
    )
    assert len(came) == BRIDGES
    for by_id in came.values():
        told = [{letter["reminder_id"] for letter in letters} for letters in by_id.values()]
        assert [len(reminders) for reminders in told] == [1] * len(told)
        assert sorted(reminder for reminders in told for reminder in reminders) == sorted(raised)
        stages = [{stage_of(letter) for letter in letters} for letters in by_id.values()]
        assert len({stage for one in stages for stage in one}) == len(raised)
    assert fates_in(ward.database) == {"delivered": needed}
    assert sorted(office.taken) == sorted(identity for by_id in came.values() for identity in by_id)


def _say(capsys: pytest.CaptureFixture[str], words: object) -> None:
    with capsys.disabled():
        sys.stdout.write(f"\n{words}\n")
