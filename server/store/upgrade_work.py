"""What an upgrade has left to the program, and when that is done."""

from typing import Final

from sqlalchemy import bindparam, delete, select

from server.store.sessions import ReadSession, WriteSession
from server.store.tables import UPGRADE_WORK

ISSUED_UNITS: Final = "issued_units"
"""Which bag each episode holds: the table is younger than the first issues."""

DERIVED_ROWS: Final = "derived_rows"
"""What the derived rows say: columns were added after they had been worked out."""

MOVING: Final = "moving"
"""A move into this database has not come to its end."""

_LEFT: Final = select(UPGRADE_WORK.c.name)
_DONE: Final = delete(UPGRADE_WORK).where(UPGRADE_WORK.c.name == bindparam("done"))


def work_left(session: ReadSession) -> frozenset[str]:
    """The names of what is still to be done."""
    return frozenset(row.name for row in session.rows(_LEFT))


def note_done(session: WriteSession, name: str) -> None:
    """Note that a piece of work is done."""
    session.run(_DONE, [{"done": name}])
