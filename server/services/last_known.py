"""A board that cannot be read just now, looked at from now by the facts that are known of it."""

from dataclasses import replace
from datetime import datetime

from server.services.read_board import Board, BoardRow, board_of, is_on_board
from server.services.sound_cases import sound_picture


def count_on(board: Board, now: datetime) -> Board:
    """Answer the board at `now` if nothing was recorded since: its clocks go on, its facts do not.

    What leaves the board by time alone leaves it. What could not be read stays named.
    """
    looked = [(sound_picture(row.picture.case, now), row) for row in board.rows]
    lost = tuple(row.picture.case.request for one, row in looked if one is None)
    rows = sorted(
        (BoardRow(one, row.nurse_name) for one, row in looked if one and is_on_board(one, now)),
        key=lambda row: row.picture.sort_key,
    )
    levels = [row.picture.urgency.level for row in rows]
    counted = board_of(board.ward, tuple(rows), levels, at=now)
    return replace(counted, spoilt=(*board.spoilt, *lost))
