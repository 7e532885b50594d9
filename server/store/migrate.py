"""Bring a database to the newest schema, from Python and from one process at a time."""

from pathlib import Path
from typing import Final

from sqlalchemy import Connection, column, inspect, select, table

from server.store.engines import open_engines
from server.store.failures import told_plainly
from server.store.store import Store

FOLDER: Final = Path(__file__).with_name("migrations")
PATIENCE_SECONDS: Final = 60  # another process may be migrating a large database


def migrate(database: Store | str) -> bool:
    """Bring a database, by Store or address, to the newest schema; False if it was there already.

    All steps happen in one write transaction: either all are done or none. Two processes that
    start at once take turns, and the second finds nothing left to do. Raises `Away`, and
    Alembic's CommandError for a database that a newer version of the program has been at.
    """
    address = database.address if isinstance(database, Store) else database
    # A step may take a server as long as it likes: there is nobody yet who waits for an answer.
    engines = open_engines(address, patience_seconds=PATIENCE_SECONDS, answer_seconds=None)
    try:
        with told_plainly(), engines.writing.begin() as connection:
            if _is_newest(connection):
                return False
            # Loaded when there is something to do: it takes a tenth of the time of a start.
            from server.store.upgrade import upgrade  # noqa: PLC0415

            upgrade(connection, FOLDER)
            return True
    finally:
        engines.dispose()


def is_current(store: Store) -> bool:
    """Whether a database has the schema this code was written for. Raises `Away`."""
    with told_plainly(), store.engines.reading.connect() as connection:
        return _is_newest(connection)


def newest_version() -> str:
    """The version that the last step leads to: its files carry their version before the name."""
    return max(file.name.partition("_")[0] for file in (FOLDER / "versions").glob("[0-9]*_*.py"))


def _is_newest(connection: Connection) -> bool:
    if not inspect(connection).has_table(_KEPT.name):
        return False
    return connection.execute(select(_KEPT.c.version_num)).scalar() == newest_version()


_KEPT: Final = table("alembic_version", column("version_num"))
