"""One change to 500 open boards, against a bare application that sends the same bytes."""

from collections.abc import Iterator
from contextlib import ExitStack
from itertools import count, cycle
from os import getpid
from pathlib import Path
from tempfile import TemporaryDirectory
from time import perf_counter, sleep
from typing import Final

from server.clock import utc_now
from tests.benchmarks.board_ground import WARD, Keys, make_ward
from tests.benchmarks.client import Connection, get, post, post_bytes
from tests.benchmarks.listeners import Listeners, listening
from tests.benchmarks.options import Options
from tests.benchmarks.outcomes import Outcome
from tests.benchmarks.servers import board_server, keep_to, module_server
from tests.benchmarks.turns import pair_of

STREAMS: Final = 500
WITHIN: Final = 2.0
PATH: Final = f"/wards/{WARD}/board/stream"
QUIET_SECONDS: Final = 0.3  # a sign of life may be on its way


def run(options: Options) -> Iterator[Outcome]:
    """From the recording of a fact until the last but few boards show it."""
    keep_to(getpid(), first=False)
    with TemporaryDirectory() as folder, ExitStack() as opened:
        database = Path(folder, "ward.db")
        keys = make_ward(database, utc_now())
        ours = opened.enter_context(board_server(database))
        bare = opened.enter_context(module_server("tests.benchmarks.bare_stream"))
        sleep(3)  # the first tick raises what is owed
        here = opened.enter_context(listening(ours.port, get(PATH, keys.cookie), STREAMS))
        there = opened.enter_context(listening(bare.port, get("/", {}), STREAMS))
        say = opened.enter_context(Connection(ours.port))
        repeat = opened.enter_context(Connection(bare.port))
        late: list[tuple[float, float]] = []
        spread: list[tuple[float, float]] = []
        for fact, _ in zip(_facts(keys), range(options.rounds(40)), strict=False):
            first, last = _heard(say, fact, here)
            bare_first, bare_last = _heard(repeat, post_bytes("/", here.all[0].event), there)
            late.append((last, bare_last))
            spread.append((last - first, bare_last - bare_first))
    size = f"{len(here.all[0].event) / 1e3:.0f} kB"
    name = f"one change ({size}) to {STREAMS} boards, p99"
    yield _outcome(f"{name} after the first of them", spread, WITHIN)
    # Recording it is no part of the bare application.
    yield _outcome("the same from the fact on, with its recording", late, None)


def _outcome(name: str, measured: list[tuple[float, float]], wanted: float | None) -> Outcome:
    pair = pair_of(measured)
    return Outcome(name, pair.ours, pair.bare, "ms", pair.ratio, wanted)


def _heard(connection: Connection, request: bytes, listeners: Listeners) -> tuple[float, float]:
    """Say something; after how many milliseconds the first has heard it, and 99 of 100."""
    sleep(QUIET_SECONDS)
    listeners.forget()
    begun = perf_counter()
    answer = connection.ask(request)
    if answer.status not in {201, 204}:
        raise AssertionError(f"not recorded: {answer.status} {answer.body[:300]!r}")
    heard = [seconds * 1e3 for seconds in listeners.heard(begun)]
    return heard[0], heard[round(len(heard) * 0.99) - 1]


def _facts(keys: Keys) -> Iterator[bytes]:
    """Readings of the volume, each on another unit that runs, and never less than before."""
    units = cycle(keys.running)
    for number in count():
        fact = {
            "kind": "volume_read",
            "given_ml": round(1 + number / 1000, 3),
            "happened_at": f"{utc_now():%FT%TZ}",
        }
        yield post(f"/api/episodes/{next(units)}/events", keys.bearer, fact)
