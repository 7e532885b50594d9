"""Three databases with the same open units: few closed ones, many, and many again for plain SQL."""

import shutil
import sqlite3
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Final

from server.services.rebuild import rebuild
from server.services.tick import tick
from server.store.store import Store
from tests.benchmarks.options import Options
from tests.benchmarks.raw_tick import Rows, connect, rfc3339
from tests.benchmarks.records import Unit, add_units, multiply, new_store
from tests.benchmarks.stories import CLOSED, ENDED

NOW: Final = datetime(2026, 3, 3, 10, 0, tzinfo=UTC)
WARDS: Final = tuple(f"w{number}" for number in range(25))
OPEN_TOLD, OPEN_COPIES = 660, 10
CLOSED_TOLD, CLOSED_COPIES = 145, 10
WRITTEN: Final = ("episode_state", "clock_state", "transition", "reminder")
CLOSED_STATES: Final = "('met', 'met_late', 'missed', 'lapsed')"


@dataclass(frozen=True, slots=True)
class Ground:
    """The stores with `few` and `many` closed clocks, and connections to copies of `many`.

    `counted` are the open clocks, and the closed ones of `many` and of `few`.
    """

    few: Store
    many: Store
    raw: sqlite3.Connection
    raw_worked_out: sqlite3.Connection
    reader: sqlite3.Connection
    counted: tuple[int, int, int]

    def close(self) -> None:
        """Close all of them."""
        self.raw.close()
        self.raw_worked_out.close()
        self.reader.close()
        self.few.close()
        self.many.close()

    def next_change(self) -> datetime:
        """When something will next be due."""
        earliest = "SELECT min(next_change_at) FROM episode_state WHERE next_change_at IS NOT NULL"
        return datetime.fromisoformat(self.reader.execute(earliest).fetchone()[0])

    def due(self, now: datetime) -> tuple[str, ...]:
        """The ids of what is due by `now`."""
        asked = "SELECT episode_id FROM episode_state WHERE next_change_at <= ?"
        return tuple(row[0] for row in self.reader.execute(asked, (rfc3339(now),)))

    def rows_of(self, ids: tuple[str, ...]) -> Rows:
        """The rows of these units that a tick has written: what plain SQL will write as well."""
        places = ", ".join("?" * len(ids))
        rows: Rows = {}
        for table in WRITTEN:
            asked = f"SELECT * FROM {table} WHERE episode_id IN ({places})"  # noqa: S608 - our names
            before = set(self.raw.execute(asked, ids))
            written = [row for row in self.reader.execute(asked, ids) if row not in before]
            if written:
                rows[table] = written
        return rows


def prepare(folder: Path, options: Options) -> Ground:
    """Make the databases; every unit is worked out, and nothing is due at NOW."""
    names = ("few", "many", "raw", "worked-out")
    few, many, raw, worked_out = (folder / f"{name}.db" for name in names)
    store = new_store(few, WARDS, NOW)
    add_units(store, [*_open_units(options), *_closed_units(options)])
    rebuild(store, lambda: NOW)
    tick(store, now=NOW)
    store.close()
    multiply(few, "open-", OPEN_COPIES - 1)
    multiply(few, "closed-", CLOSED_COPIES - 1)
    shutil.copyfile(few, many)
    multiply(many, "closed-", 9, first=100)
    shutil.copyfile(many, raw)
    shutil.copyfile(many, worked_out)
    return Ground(
        few=Store(f"sqlite:///{few}"),
        many=Store(f"sqlite:///{many}"),
        raw=connect(raw),
        raw_worked_out=connect(worked_out),
        reader=sqlite3.connect(many, isolation_level=None),
        counted=(*_count(sqlite3.connect(many)), _count(sqlite3.connect(few))[1]),
    )


def _open_units(options: Options) -> list[Unit]:
    """Units that run or are about to, begun at every second of the last three hours."""
    return [
        Unit(
            f"open-{number}",
            WARDS[number % len(WARDS)],
            f"{number % 30 + 1}",
            ENDED,
            NOW - timedelta(seconds=number * 7919 % 10_500),
            until=NOW,
        )
        for number in range(options.size(OPEN_TOLD))
    ]


def _closed_units(options: Options) -> list[Unit]:
    """Units of three days ago, whose watch is over."""
    return [
        Unit(
            f"closed-{number}",
            WARDS[number % len(WARDS)],
            f"{number % 30 + 1}",
            CLOSED,
            NOW - timedelta(days=3, seconds=number * 7919 % 10_500),
        )
        for number in range(options.size(CLOSED_TOLD))
    ]


def _count(connection: sqlite3.Connection) -> tuple[int, int]:
    """How many clocks are open, and how many closed."""
    is_open = f"state NOT IN {CLOSED_STATES}"
    asked = f"SELECT sum({is_open}), sum(NOT {is_open}) FROM clock_state"  # noqa: S608 - our words
    found: tuple[int, int] = connection.execute(asked).fetchone()
    connection.close()
    return found
