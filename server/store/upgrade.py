"""Where the steps from schema to schema are taken, by Alembic."""

from pathlib import Path

from alembic import command
from alembic.config import Config
from sqlalchemy import Connection


def upgrade(connection: Connection, folder: Path) -> None:
    """Take all steps that are left. Raises CommandError for a version that it does not know."""
    command.upgrade(alembic_config(connection, folder), "head")


def alembic_config(connection: Connection, folder: Path) -> Config:
    """What Alembic needs to know to work on `connection`."""
    config = Config(attributes={"connection": connection})
    config.set_main_option("script_location", str(folder).replace("%", "%%"))
    config.set_main_option("path_separator", "os")
    return config
