"""The load of a group of hospitals on one machine, and on two processes against one.

Everybody shares the processors of this machine: the programs that serve, PostgreSQL, and whoever
gives the load, a process of its own. What each of them took stands beside what was found.
"""

import os
from collections.abc import Iterator
from contextlib import ExitStack
from dataclasses import dataclass
from itertools import chain
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Final

from server.clock import utc_now
from tests.benchmarks.load.ground import Ground, Size, make_ground
from tests.benchmarks.load.postgres import Postgres, running_postgres
from tests.benchmarks.load.run import Found, Plan, give
from tests.benchmarks.load.shares import can_share
from tests.benchmarks.load.tables import Row, Wanted, milliseconds, percentile, told
from tests.benchmarks.load.topologies import WriterTurn, serving
from tests.benchmarks.options import Options
from tests.benchmarks.outcomes import Report

FULL: Final = Size(wards=200, boards=10)
PER_SECOND: Final = 50.0
SECONDS: Final = 60.0
CLOSED_SECONDS: Final = 25.0
CLOSED_CLIENTS: Final = 32
SEEN_SECONDS: Final = 1.0
LATER_SECONDS: Final = 1.0  # instants are whole seconds, and a tick comes each second
SCALES: Final = 1.6
SHARE: Final = 0.4
"""What each web process may take of a processor, so that two of them need not share one with all
else: as if each ran on a machine of its own."""
ALL_SHARED: Final = "as many as are answered, on the same processors"


@dataclass(frozen=True, slots=True)
class Setting:
    """What all runs have in common."""

    folder: Path
    ground: Ground
    options: Options

    @property
    def steady(self) -> Plan:
        """So many facts a second, whatever becomes of them."""
        quick = self.options.quick
        return Plan(10.0 if quick else SECONDS, PER_SECOND, FULL.boards, 50)

    @property
    def closed(self) -> Plan:
        """As many facts as are answered."""
        seconds = 8.0 if self.options.quick else CLOSED_SECONDS
        return Plan(seconds, None, FULL.boards, CLOSED_CLIENTS, quiet_seconds=3.0)


def run(options: Options) -> Report:
    """One process on SQLite and on PostgreSQL under the load of 200 wards; then two against one."""
    size = Size(20, FULL.boards) if options.quick else FULL
    with TemporaryDirectory(prefix="load-") as name, ExitStack() as opened:
        folder = Path(name)
        ground = make_ground(folder / "made.db", utc_now(), size)
        setting = Setting(folder, ground, options)
        postgres = opened.enter_context(running_postgres())
        filled = postgres.filled_from(ground.file)
        steady = [_on_sqlite(setting), _on_postgres(setting, postgres, filled)]
        pairs = [
            [_closed(setting, postgres, filled, processes, share) for processes in (1, 2)]
            for share in ((None, SHARE) if can_share() else (None,))
        ]
    head = (
        f"{size.live:,} units on {size.wards} wards, {size.wards * size.boards:,} open boards; "
        f"{os.cpu_count()} processors for all, load {os.getloadavg()[0]:.1f}"
    )
    steady_rows = list(_steady_rows(steady))
    scale_rows = [list(_scale_rows(one, two)) for one, two in pairs]
    names = (ALL_SHARED, f"as many, {SHARE:g} of a processor for each web process")
    tables = [
        told((f"{PER_SECOND:g} facts a second", "SQLite", "PostgreSQL"), steady_rows),
        *(
            told((name, "one process", "two"), rows)
            for name, rows in zip(names, scale_rows, strict=False)
        ),
    ]
    if len(pairs) == 1:
        tables.append(
            "No shares of processors can be given here: two machines against one were not tried."
        )
    misses = any(row.misses for row in chain(steady_rows, *scale_rows))
    return Report("\n\n".join((head, *tables)), misses=misses)


def _on_sqlite(setting: Setting) -> Found:
    address = f"sqlite:///{setting.ground.file}"
    watching = setting.ground.watching
    with serving(address, setting.folder / "key", watching=watching) as served:
        return give(setting.ground, setting.steady, served.web, address, served.spent)


def _on_postgres(setting: Setting, postgres: Postgres, filled: str) -> Found:
    address = postgres.copied_from(filled)
    watching = setting.ground.watching
    with serving(address, setting.folder / "key", watching=watching) as served:
        spent = served.spent | {"postgres": postgres.cpu_seconds}
        return give(setting.ground, setting.steady, served.web, address, spent)


def _closed(
    setting: Setting, postgres: Postgres, filled: str, processes: int, share: float | None
) -> Found:
    address = postgres.copied_from(filled)
    watching = setting.ground.watching
    key = setting.folder / "key"
    with (
        serving(
            address, key, processes=processes, watching=watching, worker=True, share=share
        ) as served,
        WriterTurn(address) as turn,
    ):
        spent = served.spent | {"postgres": postgres.cpu_seconds, "turn": turn.seconds}
        return give(setting.ground, setting.closed, served.web, address, spent)


def _steady_rows(found: list[Found]) -> Iterator[Row]:
    yield Row("facts answered of those posted", [f"{len(f.answered)}/{f.posted}" for f in found])
    for share in (0.5, 0.95, 0.99, 1.0):
        yield _times("from posted to answered", share, [f.answered for f in found])
    for share in (0.5, 0.95, 0.99, 1.0):
        wanted = SEEN_SECONDS * 1e3 if share == 0.99 else None
        yield _times("from posted to seen, on each board", share, [f.seen for f in found], wanted)
    lost = [float(f.unseen + f.refusals) for f in found]
    yield Row("not seen within 30 s, or refused", [f"{n:.0f}" for n in lost], Wanted(lost, 0))
    yield from _late_rows(found)
    yield from _cost_rows(found)
    yield Row("memory of the program, MB", [f"{sum(f.megabytes):.0f}" for f in found])


def _times(name: str, share: float, seconds: list[list[float]], wanted: float | None = None) -> Row:
    found = [percentile(one, share) * 1e3 for one in seconds]
    which = "at most" if share == 1.0 else f"p{share * 100:g}"
    limit = None if wanted is None else Wanted(found, wanted)
    return Row(f"{name}, ms, {which}", [milliseconds(one) for one in found], limit)


def _late_rows(found: list[Found]) -> Iterator[Row]:
    """What is late under load, and was before it."""
    yield Row(
        "reminders, and by how much the latest came late, before",
        [f"{f.before.reminders}: {f.before.reminder_delay:.0f} s" for f in found],
    )
    delays = [f.during.reminder_delay - f.before.reminder_delay for f in found]
    yield Row(
        "the same under load",
        [f"{f.during.reminders}: {f.during.reminder_delay:.0f} s" for f in found],
        Wanted(delays, LATER_SECONDS, f"≤ {LATER_SECONDS:g} s more"),
    )
    for name, take in (("lag of what is due", "lag"), ("age of the last tick", "tick_age")):
        pairs = [(getattr(f.before, take), getattr(f.during, take)) for f in found]
        yield Row(
            f"{name} at most, before and under load, s",
            [f"{before:.0f}, {during:.0f}" for before, during in pairs],
            Wanted([during - before for before, during in pairs], 2.0, "≤ 2 more"),
        )


def _cost_rows(found: list[Found]) -> Iterator[Row]:
    names = dict.fromkeys(name for f in found for name in f.cpu if name != "turn")
    for name in names:
        yield Row(
            f"processor: {name}, ms a fact",
            [f"{f.cpu.get(name, 0.0) / max(1, f.in_time) * 1e3:.1f}" for f in found],
        )
    yield Row("processors busy with all of it", [f"{f.busy:.2f}" for f in found])


def _scale_rows(one: Found, two: Found) -> Iterator[Row]:
    """Two processes against one: by the clock on the wall, and by what each could do alone."""
    found = [one, two]
    yield Row("facts answered a second", [f"{f.a_second:.1f}" for f in found])
    scale = two.a_second / one.a_second
    yield Row(
        "two against one, by the clock",
        ["", f"{scale:.2f}"],
        Wanted([-scale], -SCALES, f"≥ {SCALES}"),
    )
    for share in (0.5, 0.99):
        yield _times("from posted to answered", share, [f.answered for f in found])
    wanted = SEEN_SECONDS * 1e3
    yield _times("from posted to seen, on each board", 0.99, [f.seen for f in found], wanted)
    lost = [float(f.unseen + f.refusals) for f in found]
    yield Row("not seen within 30 s, or refused", [f"{n:.0f}" for n in lost], Wanted(lost, 0))
    yield from _cost_rows(found)
    yield Row("the turn to write is taken, of the time", [f"{_turn(f):.0%}" for f in found])
    alone = [f.in_time / f.cpu["web"] for f in found]
    yield Row("facts for a second of a web process's processor", [f"{n:.1f}" for n in alone])
    yield Row("two against one, each with a processor", ["", f"{2 * alone[1] / alone[0]:.2f}"])
    limits = [f.a_second / max(0.01, _turn(f)) for f in found]
    yield Row("facts a second that the turn to write would let pass", [f"{n:.0f}" for n in limits])


def _turn(found: Found) -> float:
    return found.cpu["turn"] / found.seconds
