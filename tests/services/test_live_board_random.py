"""The board in memory and the board that is read are the same at every step of any shift."""

from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path
from shutil import copyfile
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from server.services.live_board import LiveBoards
from server.services.read_board import Board, BoardRow
from server.store.store import Store
from tests.services.charting import Charting
from tests.services.random_shift import EVERYTHING, Shift, Step, steps


@pytest.fixture
def file(tmp_path: Path) -> Path:
    """A file that every example begins anew."""
    return tmp_path / "shift.db"


@settings(max_examples=25, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(shift=st.lists(st.tuples(steps(EVERYTHING, least=1, most=3), st.booleans()), max_size=8))
def test_the_board_in_memory_is_the_board_that_is_read(
    sqlite_wards: Path, file: Path, shift: list[tuple[list[Step], bool]]
) -> None:
    for store, elsewhere in _stores(sqlite_wards, file):
        played = Shift(Charting(store)).begin()
        boards = LiveBoards(store)
        store.on_commit(boards.hear)
        for some, by_another in shift:
            for step in some:
                played.play(step, Charting(elsewhere) if by_another else None)
            # What another process wrote is found within the second.
            played.now += timedelta(seconds=1 if by_another else 0)
            for ward_id in ("w1", "w2"):
                live = boards.board(ward_id, played.now)
                read = played.charting.board(played.now, ward_id=ward_id)
                assert _seen(live, live) == _seen(read, live)


def _stores(template: Path, file: Path) -> Iterator[tuple[Store, Store]]:
    copyfile(template, file)
    stores = Store(f"sqlite:///{file}"), Store(f"sqlite:///{file}")
    try:
        yield stores
    finally:
        for store in stores:
            store.close()


def _seen(board: Board, live: Board) -> dict[str, Any]:
    """All of a board; of a row that was looked at earlier in the minute, all but its seconds."""
    looked_at = {row.picture.case.request.id: row.picture.standing.now for row in live.rows}
    return {
        "at": board.at,
        "ward": board.ward,
        "checked_at": board.checked_at,
        "revision": board.revision,
        "counts": board.counts,
        "rows": [
            row if looked_at.get(row.picture.case.request.id) == board.at else _lasting(row)
            for row in board.rows
        ],
    }


def _lasting(row: BoardRow) -> dict[str, Any]:
    picture = row.picture
    return {
        "case": picture.case,
        "clocks": picture.clocks,
        "level": picture.urgency.level,
        "reminders": picture.reminders,
        "breaches": [(breach.clock, breach.n, breach.limit_at) for breach in picture.breaches],
        "nurse": row.nurse_name,
    }
