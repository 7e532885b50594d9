"""The demonstration's ward on a file of its own, told once and copied for each who changes it."""

import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path

from seed_demo.simulated_shift import SimulatedShift
from seed_demo.staff import EARLY, WARD_ID
from seed_demo.tell import all_stories, episode_id, tell_ward
from server.domain.events import Event
from server.domain.picture import Picture
from server.services.cases import load_cases
from server.services.read_board import Board, read_board
from server.store.log import Logged, events_after
from server.store.migrate import migrate
from server.store.store import Store

START = datetime(2026, 11, 25, 10, tzinfo=UTC)
MINUTE = timedelta(minutes=1)
CHARGE = EARLY.charge.actor


def tell_to(file: Path, *, seed: int = 1) -> Path:
    """Tell the ward into a new file."""
    with opened(file) as store:
        migrate(store)
        tell_ward(store, seed=seed, start=START, timezone="Pacific/Auckland")
    return file


@contextmanager
def opened(file: Path) -> Iterator[Store]:
    """The database in a file, closed at the end, so that the file is whole."""
    store = Store(f"sqlite:///{file}")
    try:
        yield store
    finally:
        store.close()


@contextmanager
def copied(told: Path, folder: Path) -> Iterator[Store]:
    """A copy of a told ward, to do things on."""
    with opened(Path(shutil.copy(told, folder / "copy.db"))) as store:
        yield store


def shift_on(store: Store, *, seed: int = 1) -> SimulatedShift:
    """The nurses of a told ward, from its start on."""
    return SimulatedShift(store, seed=seed, start=START, hands_off=10 * MINUTE)


def board_of(store: Store, now: datetime = START) -> Board:
    """The board as the charge nurse sees it."""
    with store.read() as session:
        return read_board(session, CHARGE, WARD_ID, now=now)


def pictures_of(store: Store, now: datetime = START) -> dict[str, Picture]:
    """Every unit on the board by the key of its story and its place in the order."""
    keys = {
        episode_id(story.key, n): story.key if n == 1 else f"{story.key}/{n}"
        for story in all_stories()
        for n in range(1, len(story.units) + 1)
    }
    rows = board_of(store, now).rows
    return {
        keys.get(row.picture.case.request.id, row.picture.case.request.id): row.picture
        for row in rows
    }


def facts_of(store: Store) -> list[Logged]:
    """The whole log."""
    with store.read() as session:
        return list(events_after(session, 0, limit=100_000))


def events_on(store: Store, unit: str, now: datetime) -> tuple[Event, ...]:
    """Everything recorded on one unit, its patient's signs included."""
    with store.read() as session:
        return load_cases(session, [unit], now=now)[unit].events
