"""A board that cannot be read just now, looked at from now by the facts that are known of it."""

from datetime import datetime

from server.domain.picture import picture
from server.services.read_board import Board, BoardRow, board_of, is_on_board


def count_on(board: Board, now: datetime) -> Board:
    """Answer the board at `now` if nothing was recorded since: its clocks go on, its facts do not.

    What leaves the board by time alone leaves it.
    """
    looked = [BoardRow(picture(row.picture.case, now), row.nurse_name) for row in board.rows]
    rows = sorted(
        (row for row in looked if is_on_board(row.picture, now)),
        key=lambda row: row.picture.sort_key,
    )
    levels = [row.picture.urgency.level for row in rows]
    return board_of(board.ward, tuple(rows), levels, at=now)
