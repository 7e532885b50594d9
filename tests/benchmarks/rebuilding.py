"""Every derived row worked out anew: twice the episodes may take little more than twice as long."""

import sqlite3
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from tempfile import TemporaryDirectory
from time import process_time
from typing import Final

from server.services.rebuild import rebuild
from server.store.store import Store
from tests.benchmarks.options import Options
from tests.benchmarks.outcomes import Outcome
from tests.benchmarks.records import Unit, add_units, multiply, new_store
from tests.benchmarks.stories import CLOSED
from tests.benchmarks.turns import by_turns

NOW: Final = datetime(2026, 3, 3, 10, 0, tzinfo=UTC)
EPISODES: Final = 5_000
WANTED: Final = 2.3


@dataclass(frozen=True, slots=True)
class Base:
    """A database of so many episodes."""

    file: Path
    store: Store
    episodes: int

    def rebuild_all(self) -> float:
        """Work out every episode as if none ever had been; the processor time in ms."""
        connection = sqlite3.connect(self.file)
        connection.executescript("DELETE FROM clock_state; DELETE FROM episode_state;")
        connection.close()
        begun = process_time()
        done = rebuild(self.store, lambda: NOW)
        spent = (process_time() - begun) * 1e3
        if (done.episodes, len(done.differed)) != (self.episodes, self.episodes):
            raise AssertionError(f"not everything was worked out: {done.episodes}")
        return spent


def run(options: Options) -> Iterator[Outcome]:
    """Rebuild 5,000 episodes against 2,500."""
    whole = options.size(EPISODES)
    with TemporaryDirectory() as folder:
        many, few = (_base(Path(folder), whole // 10, copies) for copies in (10, 5))
        pair = by_turns(options.rounds(3), many.rebuild_all, few.rebuild_all)
        many.store.close()
        few.store.close()
    yield Outcome(
        f"rebuild of {whole:,} episodes, against {whole // 2:,}",
        pair.ours,
        pair.bare,
        "ms CPU",
        pair.ratio,
        WANTED,
    )


def _base(folder: Path, told: int, copies: int) -> Base:
    """So many units told one by one, and further ones that are the same under other names."""
    file = folder / f"{copies}.db"
    wards = [f"w{number}" for number in range(5)]
    store = new_store(file, wards, NOW)
    add_units(store, [_unit(number, wards) for number in range(told)])
    multiply(file, "e-", copies - 1)
    return Base(file, store, told * copies)


def _unit(number: int, wards: list[str]) -> Unit:
    """One of a stream of units, one every two minutes: those of the last hours are still open."""
    begun = NOW - timedelta(minutes=2 * number)
    return Unit(
        f"e-{number}", wards[number % len(wards)], f"{number % 30 + 1}", CLOSED, begun, until=NOW
    )
