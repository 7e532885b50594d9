"""What a fact, a tick, a board and rest cost as units, history or boards are ten times as many."""

import json
import sqlite3
import sys
from collections.abc import Mapping
from datetime import datetime
from pathlib import Path
from statistics import median
from tempfile import TemporaryDirectory
from time import perf_counter, process_time
from typing import Final

from server.clock import utc_now
from server.domain.clock import SECOND
from server.services.tick import tick
from server.store.store import Store
from tests.benchmarks.client import Connection, ask_many, get
from tests.benchmarks.load.ground import Ground, Size, make_ground
from tests.benchmarks.load.growth_chart import CHART, FIGURES, Figures, chart, table
from tests.benchmarks.load.run import Found, Plan, give
from tests.benchmarks.load.topologies import serving
from tests.benchmarks.options import Options
from tests.benchmarks.outcomes import Report
from tests.benchmarks.servers import Server

SIZES: Final[dict[str, Size]] = {
    "500 live units, 2,000 closed, 200 boards": Size(wards=20, boards=10, closed=2_000),
    "units ×10": Size(wards=200, boards=1, closed=2_000),
    "history ×10": Size(wards=20, boards=10, closed=20_000),
    "boards ×10": Size(wards=20, boards=100, closed=2_000),
}
PER_SECOND: Final = 10.0
PAGES: Final = 2_000
TICKS: Final = 30


def run(options: Options) -> Report:
    """Measure each size on SQLite, one process; what was found is kept for the chart."""
    found = {}
    for name, size in SIZES.items():
        print(f"  {name} …", file=sys.stderr, flush=True)
        with TemporaryDirectory(prefix="growth-") as folder:
            ground = make_ground(Path(folder, "made.db"), utc_now(), _sized(size, options))
            found[name] = _measured(ground, size, options)
    if not options.quick:
        FIGURES.write_text(f"{json.dumps(found, ensure_ascii=False, indent=1)}\n", "utf-8")
        CHART.write_text(chart(found), "utf-8")
    return Report(table(found))


def _sized(size: Size, options: Options) -> Size:
    if not options.quick:
        return size
    return Size(size.wards // 10, size.boards, closed=size.closed // 10)


def _measured(ground: Ground, size: Size, options: Options) -> Figures:
    address, megabytes = f"sqlite:///{ground.file}", ground.file.stat().st_size / 1e6
    seconds = 4.0 if options.quick else 15.0
    plan = Plan(seconds, PER_SECOND, size.boards, 10, quiet_seconds=seconds)
    with serving(address, ground.file.with_suffix(".key"), watching=ground.watching) as served:
        found = give(ground, plan, served.web, address, served.spent)
        page = _page(served.web[0], ground, found.quiet["web"])
    if found.refusals or found.unseen:
        raise AssertionError(f"{found.unseen} not seen, refused: {found.refused}")
    return _figures(found) | page | _ticks(address, utc_now()) | {"file, MB": megabytes}


def _figures(found: Found) -> Figures:
    """What a fact cost beyond what open boards cost in any case, and what those did."""
    rest = found.quiet["web"]
    return {
        "a fact, to its answer, ms": median(found.answered) * 1e3,
        "a fact, told to its boards, ms of a processor": (
            (found.cpu["web"] - rest * found.seconds) / found.in_time * 1e3
        ),
        "a second at rest, ms of a processor": rest * 1e3,
        "memory, MB": found.megabytes[0],
    }


def _page(server: Server, ground: Ground, rest: float) -> Figures:
    """The page of one ward to one reader, again and again, beyond what rest costs meanwhile."""
    ward, cookies = next(iter(ground.cookies.items()))
    request = get(f"/wards/{ward}/board", {"Cookie": cookies[0]})
    with Connection(server.port) as connection:
        begun, before = perf_counter(), server.cpu_seconds()
        ask_many([connection], request, PAGES)
        spent, lasted = server.cpu_seconds() - before, perf_counter() - begun
    return {"a board's page, ms of a processor": (spent - rest * lasted) / PAGES * 1e3}


def _ticks(address: str, now: datetime) -> Figures:
    """A tick when nothing is due, and what each unit adds that is."""
    store = Store(address)
    tick(store, now=now)
    earliest = _next_change(address)
    idle = [_timed(store, min(now + n * SECOND, earliest - SECOND))[0] for n in range(TICKS)]
    due = [_timed(store, _next_change(address)) for _ in range(TICKS)]
    store.close()
    return {
        "a tick, nothing due, ms of a processor": median(idle) * 1e3,
        "a tick, for each unit due, ms of a processor": sum(spent for spent, _ in due)
        / sum(units for _, units in due)
        * 1e3,
    }


def _timed(store: Store, now: datetime) -> tuple[float, int]:
    begun = process_time()
    ticked = tick(store, now=now)
    return process_time() - begun, ticked.episodes


def _next_change(address: str) -> datetime:
    asked = "SELECT min(next_change_at) FROM episode_state WHERE next_change_at IS NOT NULL"
    connection = sqlite3.connect(address.removeprefix("sqlite:///"))
    try:
        return datetime.fromisoformat(connection.execute(asked).fetchone()[0])
    finally:
        connection.close()


def kept() -> Mapping[str, Figures]:
    """What was found when the figures were kept last."""
    found: Mapping[str, Figures] = json.loads(FIGURES.read_text("utf-8"))
    return found
