"""Move a board into another database, from a ward's file into a server above all."""

from datetime import datetime, timedelta
from typing import Final

from server.services.errors import Conflict
from server.services.tick import HEARTBEAT
from server.store.heartbeat import last_beat
from server.store.migrate import migrate
from server.store.move import Differs, Moved, Progress, move_database
from server.store.store import Store

QUIET: Final = timedelta(seconds=30)
"""A board whose last tick is longer ago runs no more."""


def move_board(
    source: Store, target: Store, *, now: datetime, progress: Progress = lambda *_: None
) -> Moved:
    """Move everything into `target`, which is brought to the newest schema, and compare it all.

    One that broke off is made again from where it was. Raises `Conflict` while the board still
    runs on `source`, what was written there afterwards would be left behind; and where the target
    holds other data, or something else than was moved. Raises `Away`, and what `migrate` raises.
    """
    if source.address == target.address:
        raise Conflict("the board is in that database already")
    with source.read() as session:
        beat = last_beat(session, HEARTBEAT)
    if beat is not None and now - beat.at < QUIET:
        raise Conflict(
            "the board still runs on this database: stop it first, and wait half a minute"
        )
    migrate(target)
    return move_all(source, target, progress)


def move_all(source: Store, target: Store, progress: Progress, *, held: bool = True) -> Moved:
    """Do as `move_database` does; raises `Conflict` where the target holds anything else."""
    try:
        return move_database(source, target, progress, held=held)
    except Differs as wrong:
        raise Conflict(f"{wrong}") from wrong
