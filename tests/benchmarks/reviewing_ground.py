"""A year of twelve wards, a half and a quarter of it, made once and kept for the next run.

They lie in the folder that FOURTH_HOUR_YEAR names, or in one of the machine's passing files.
"""

import os
import sqlite3
import sys
import tempfile
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from time import perf_counter
from typing import Final

from seed_demo.year.hospital import Year, tell_year
from server.cli_files import show_progress
from server.clock import utc_now
from server.pages.visitors import COOKIE
from server.services.actor import Actor
from server.services.sign_in import actor_of, sign_in
from server.services.tick import tick
from server.store.migrate import migrate
from server.store.staff import read_staff
from server.store.store import Store

UNTIL: Final = datetime(2026, 2, 28, 23, 59, 59, tzinfo=UTC)
EPISODES: Final = 60_000
DAYS: Final = 365
MANAGER: Final = "manager"


@dataclass(frozen=True, slots=True)
class Ground:
    """One history: its file, how many of the year's parts it holds, and a manager's cookie."""

    file: Path
    parts: int
    cookie: Mapping[str, str]
    manager: Actor

    @property
    def address(self) -> str:
        """As SQLAlchemy names it."""
        return f"sqlite:///{self.file}"


def ground(parts: int, episodes: int) -> Ground:
    """The last so many of twelve parts of a year of `episodes`, made where it is not there yet."""
    folder = Path(
        os.environ.get("FOURTH_HOUR_YEAR", Path(tempfile.gettempdir(), "fourth-hour-year"))
    )
    folder.mkdir(parents=True, exist_ok=True)
    file = folder / f"year-{episodes}-{parts:02}.db"
    if not file.exists():
        _make(file, parts, episodes)
    return _opened(file, parts)


def _make(file: Path, parts: int, episodes: int) -> None:
    making = file.with_suffix(".making")
    for ending in ("", "-wal", "-shm"):
        Path(f"{making}{ending}").unlink(missing_ok=True)
    year = Year(
        12, episodes * parts // 12, 1, UNTIL, "Europe/London", days=round(DAYS * parts / 12)
    )
    begun, store = perf_counter(), Store(f"sqlite:///{making}")
    migrate(store)
    tell_year(store, f"sqlite:///{making}", year, progress=show_progress)
    store.close()
    connection = sqlite3.connect(making)
    connection.execute("ANALYZE")
    events = connection.execute("SELECT max(position) FROM event").fetchone()[0]
    connection.close()
    making.rename(file)
    said = f"{year.episodes:,} units, {events:,} events in {perf_counter() - begun:,.0f} s"
    print(f"made {file}: {said}", file=sys.stderr, flush=True)


def _opened(file: Path, parts: int) -> Ground:
    """Tick up to now, so that a page meets wards at rest, and sign the manager in."""
    store, now = Store(f"sqlite:///{file}"), utc_now()
    migrate(store)
    tick(store, now=now)
    with store.write() as session:
        staff = read_staff(session, MANAGER)
        if staff is None:
            raise AssertionError(f"{file} has no manager")
        secret = sign_in(session, staff, now=now).secret
    store.close()
    return Ground(file, parts, {"Cookie": f"{COOKIE}={secret}"}, actor_of(staff))
