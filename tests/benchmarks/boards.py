"""The board of 200 rows, to somebody who is signed in, against a bare application's same bytes."""

from collections.abc import Iterator
from contextlib import ExitStack
from itertools import count, cycle
from os import getpid
from pathlib import Path
from tempfile import TemporaryDirectory
from time import perf_counter, sleep
from typing import Final

from server.clock import utc_now
from tests.benchmarks.board_ground import UNITS, WARD, Keys, make_ward
from tests.benchmarks.client import Connection, ask_many, get, post
from tests.benchmarks.options import Options
from tests.benchmarks.outcomes import Outcome
from tests.benchmarks.servers import Server, board_server, keep_to, module_server
from tests.benchmarks.turns import Pair, by_turns, pair_of

UNCHANGED: Final = 0.4
CHANGED: Final = 0.08
AT_ONCE: Final = 16
PATH: Final = f"/wards/{WARD}/board"
SETTLED_SECONDS: Final = 0.05


def run(options: Options) -> Iterator[Outcome]:
    """The board unchanged, and after each of many changes."""
    keep_to(getpid(), first=False)
    with TemporaryDirectory() as folder, ExitStack() as opened:
        database, page = Path(folder, "ward.db"), Path(folder, "page.html")
        keys = make_ward(database, utc_now())
        ours = opened.enter_context(board_server(database))
        sleep(3)  # the first tick raises what is owed
        request = get(PATH, keys.cookie)
        page.write_bytes(_page(ours, request))
        bare = opened.enter_context(module_server("tests.benchmarks.bare_page", str(page)))
        size = f"{page.stat().st_size / 1e3:,.0f} kB"
        yield from _unchanged(ours, bare, request, options, size)
        yield from _changed(ours, bare, request, keys, options)


def _page(ours: Server, request: bytes) -> bytes:
    with Connection(ours.port) as connection:
        answer = connection.ask(request)
    rows = answer.body.count(b'<li class="row ')
    if (answer.status, rows) != (200, UNITS):
        raise AssertionError(f"no board: {answer.status}, {rows} rows, {answer.body[:300]!r}")
    return answer.body


def _unchanged(
    ours: Server, bare: Server, request: bytes, options: Options, size: str
) -> Iterator[Outcome]:
    times = options.times(400)
    for name, at_once in ((f"{AT_ONCE} readers", AT_ONCE), ("one reader", 1)):
        with ExitStack() as opened:
            here, there = (_connect(opened, server, at_once) for server in (ours, bare))
            pair = by_turns(
                options.rounds(15),
                lambda: _cpu_of(ours, here, request, times),  # noqa: B023 - used at once
                lambda: _cpu_of(bare, there, request, times),  # noqa: B023 - used at once
            )
            yield _left(f"board of 200 rows ({size}) unchanged, {name}", pair, "µs CPU", UNCHANGED)


def _connect(opened: ExitStack, server: Server, number: int) -> list[Connection]:
    return [opened.enter_context(Connection(server.port)) for _ in range(number)]


def _cpu_of(server: Server, connections: list[Connection], request: bytes, times: int) -> float:
    before = server.cpu_us()
    ask_many(connections, request, times)
    return (server.cpu_us() - before) / times


def _changed(
    ours: Server, bare: Server, request: bytes, keys: Keys, options: Options
) -> Iterator[Outcome]:
    """Each request is preceded by a recorded event; the request alone is measured."""
    readings, costs, times = _readings(keys), [], []
    with Connection(ours.port) as here, Connection(bare.port) as there:
        for _ in range(options.rounds(150)):
            answer = here.ask(next(readings))
            if answer.status != 201:
                raise AssertionError(f"not recorded: {answer.status} {answer.body[:300]!r}")
            sleep(SETTLED_SECONDS)  # the stream's own work is not the page's
            cost, time = _one(ours, here, request)
            bare_cost, bare_time = _one(bare, there, request)
            costs.append((cost, bare_cost))
            times.append((time, bare_time))
    yield _left("board after one row changed", pair_of(costs), "µs CPU", CHANGED)
    yield _left("the same by the clock on the wall", pair_of(times), "µs", None)


def _one(server: Server, connection: Connection, request: bytes) -> tuple[float, float]:
    before, begun = server.cpu_us(), perf_counter()
    connection.ask(request)
    time = (perf_counter() - begun) * 1e6
    return server.cpu_us() - before, time


def _readings(keys: Keys) -> Iterator[bytes]:
    """Readings of the volume, each on another unit that runs, and never less than before."""
    units = cycle(keys.running)
    for number in count():
        given = round(1 + number / 1000, 3)
        fact = {"kind": "volume_read", "given_ml": given, "happened_at": f"{utc_now():%FT%TZ}"}
        yield post(f"/api/episodes/{next(units)}/events", keys.bearer, fact)


def _left(name: str, pair: Pair, unit: str, wanted: float | None) -> Outcome:
    """How much of the bare speed is left."""
    return Outcome(name, pair.ours, pair.bare, unit, 1 / pair.ratio, wanted, at_least=True)
