"""Bring a database to the newest schema, from Python and from one process at a time."""

from pathlib import Path
from typing import Final

from alembic import command
from alembic.config import Config
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import Connection

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
    engines = open_engines(address, patience_seconds=PATIENCE_SECONDS)
    try:
        with told_plainly(), engines.writing.begin() as connection:
            if _is_newest(connection):
                return False
            command.upgrade(alembic_config(connection), "head")
            return True
    finally:
        engines.dispose()


def is_current(store: Store) -> bool:
    """Whether a database has the schema this code was written for. Raises `Away`."""
    with told_plainly(), store.engines.reading.connect() as connection:
        return _is_newest(connection)


def alembic_config(connection: Connection, folder: Path = FOLDER) -> Config:
    """What Alembic needs to know to work on `connection`."""
    config = Config(attributes={"connection": connection})
    config.set_main_option("script_location", str(folder).replace("%", "%%"))
    config.set_main_option("path_separator", "os")
    return config


def _is_newest(connection: Connection) -> bool:
    version = MigrationContext.configure(connection).get_current_revision()
    newest = ScriptDirectory.from_config(alembic_config(connection)).get_current_head()
    return version is not None and version == newest
