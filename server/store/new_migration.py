"""`python -m server.store.new_migration "what it does"`: draft the step from schema to tables."""

import sys
from pathlib import Path
from tempfile import TemporaryDirectory

from alembic import command

from server.store.engines import open_engines
from server.store.migrate import FOLDER, migrate, newest_version
from server.store.upgrade import alembic_config


def draft_migration(message: str, folder: Path = FOLDER) -> None:
    """Write a new step into `versions` of the migrations in `folder`; read it before you keep it.

    The draft is what SQLite needs to know; triggers and conditions are never drafted.
    """
    with TemporaryDirectory() as scratch:
        address = f"sqlite:///{Path(scratch, 'present.db')}"
        migrate(address)
        engines = open_engines(address)
        with engines.writing.connect() as connection:
            number = f"{int(newest_version()) + 1:04}"
            config = alembic_config(connection, folder)
            command.revision(config, message, autogenerate=True, rev_id=number)
        engines.dispose()


if __name__ == "__main__":
    draft_migration(" ".join(sys.argv[1:]))
