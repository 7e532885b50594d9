"""The board in memory and the board that is read are the same at every step of any shift."""

from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from server.services.live_board import LiveBoards
from server.services.read_board import Board, BoardRow
from tests.services.charting import Charting
from tests.services.random_files import fresh_stores
from tests.services.random_shift import EVERYTHING, Shift, Step, steps

Part = tuple[list[Step], bool]


@settings(max_examples=12)
@given(parts=st.lists(st.tuples(steps(EVERYTHING, least=1, most=3), st.booleans()), max_size=8))
def test_the_board_in_memory_is_the_board_that_is_read(
    sqlite_wards: Path, tmp_path_factory: Any, parts: list[Part]
) -> None:
    file = tmp_path_factory.mktemp("shift") / "wards.db"
    with fresh_stores(sqlite_wards, file, 2) as (store, elsewhere):
        shift = Shift(Charting(store)).begin()
        boards = LiveBoards(store)
        store.on_commit(boards.hear)
        for some, by_another in parts:
            for step in some:
                shift.play(step, Charting(elsewhere) if by_another else None)
            # What another process wrote is found within the second.
            shift.now += timedelta(seconds=1 if by_another else 0)
            for ward_id in ("w1", "w2"):
                live = boards.board(ward_id, shift.now)
                read = shift.charting.board(shift.now, ward_id=ward_id)
                assert _seen(live, live) == _seen(read, live)


def _seen(board: Board, live: Board) -> dict[str, Any]:
    """All of a board; of a row that was looked at earlier in the minute, all but its seconds."""
    looked_at = {row.picture.case.request.id: row.picture.standing.now for row in live.rows}
    return {
        "at": board.at,
        "ward": replace(board.ward, checked_at=None),  # a check is found within the second
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
