"""The power goes in the middle of writing to a file: what was acknowledged is there afterwards."""

from dataclasses import dataclass
from pathlib import Path
from random import Random
from time import sleep
from typing import Final

from server.clock import utc_now
from tests.faults.asking import say
from tests.faults.posting import Address, Client, finish
from tests.faults.power import (
    Log,
    add_torn_frame,
    copy_files,
    cut_last,
    events_in,
    log_of,
    read_log,
    standing_still,
    tear_pages,
)
from tests.faults.programs import Served, ending
from tests.faults.small_ward import SmallWard, make_small_ward
from tests.faults.whole import require_whole

CUTS: Final = 8
MOST_CUTS: Final = 60
CLIENTS: Final = 3
SEED: Final = 20_261_127
LATEST_SECONDS: Final = 0.4


@dataclass(frozen=True)
class Cut:
    """What a power cut met: facts that were acknowledged, a commit that was not, torn pages."""

    told: int
    torn: bool
    pages: int


def test_after_a_power_cut_what_was_acknowledged_is_there(tmp_path: Path) -> None:
    ward = make_small_ward(tmp_path / "ward.db", utc_now())
    chance, address = Random(SEED), Address()  # noqa: S311 - moments, not secrets
    clients = [Client(ward, address, number) for number in range(CLIENTS)]
    with ending(Served(ward.database, tmp_path / "log")) as served:
        served.wait_until_ready()
        address.port = served.port
        for client in clients:
            client.start()
        kept: list[Cut] = []
        while len(kept) < CUTS or not _has_met_everything(kept):
            assert len(kept) < MOST_CUTS, "no cut met a commit that nobody had been told of"
            kept.append(_cut(ward, served.process.pid, clients, chance, len(kept)))
        finish(clients)

    assert [client.fault for client in clients] == [""] * CLIENTS
    say(
        f"{len(kept)} power cuts among {kept[-1].told} acknowledged facts: "
        f"{sum(one.torn for one in kept)} tore the last commit, {sum(one.pages for one in kept)} "
        f"pages of the file were torn; nothing acknowledged was lost"
    )


def _has_met_everything(kept: list[Cut]) -> bool:
    return any(one.torn for one in kept) and any(one.pages for one in kept)


def _cut(ward: SmallWard, process: int, clients: list[Client], chance: Random, number: int) -> Cut:
    """Cut the power at some moment, and look at what is left."""
    assert isinstance(ward.database, Path)
    sleep(chance.uniform(0, LATEST_SECONDS))
    with standing_still(process):
        told = {one for client in clients for one in list(client.acknowledged.values())}
        left = copy_files(ward.database, ward.database.with_name(f"cut-{number}.db"))
    log = read_log(left)
    unsynced = bool(log.ends) and not told & _events_of_last(left, log)
    if unsynced:
        cut_last(left, log, chance)
    else:
        add_torn_frame(left, log, chance)
    pages = tear_pages(left, log, len(log.ends) - 1 if unsynced else len(log.ends), chance)

    assert told <= events_in(left)
    require_whole(left)
    return Cut(len(told), unsynced, pages)


def _events_of_last(left: Path, log: Log) -> set[str]:
    """The events that the last commit of the log brought."""
    whole = copy_files(left, left.with_name(f"whole-{left.name}"))
    before = copy_files(left, left.with_name(f"before-{left.name}"))
    with log_of(before).open("r+b") as file:
        file.truncate(log.ends[-2] if len(log.ends) > 1 else 0)
    return events_in(whole) - events_in(before)
