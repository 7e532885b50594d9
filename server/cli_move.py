"""The board moved into another database at the command line."""

import argparse
from datetime import datetime

from server.services.move_board import move_board
from server.settings import SettingsError
from server.store.move import Progress
from server.store.store import Store


def add_options(command: argparse.ArgumentParser) -> None:
    """What may be asked of it."""
    command.add_argument(
        "--to",
        metavar="ADDRESS",
        help="move everything into this database, such as postgresql+psycopg://…",
    )


def run_move(source: Store, address: str, *, now: datetime, bar: Progress) -> int:
    """Move, and say what was moved; 0. Raises `Conflict`, `Away`, `SettingsError`."""
    try:
        target = Store(address)
    except ValueError as wrong:
        raise SettingsError(f"--to is not {wrong}") from wrong
    try:
        moved = move_board(source, target, now=now, progress=bar)
    finally:
        target.close()
    print(f"{moved.rows} rows of {moved.tables} tables were moved, and compared one by one")
    print("set FOURTH_HOUR_DATABASE to the new address before the board is started again")
    return 0
