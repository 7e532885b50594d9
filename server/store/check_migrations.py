"""`python -m server.store.check_migrations`: exit 1 if tables and migrations differ."""

import sys
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext

from server.store.engines import open_engines
from server.store.migrate import migrate
from server.store.tables import CATALOGUE


def find_differences(address: str) -> list[Any]:
    """Migrate the database at `address`; what its schema then lacks, or has too much."""
    migrate(address)
    engines = open_engines(address)
    try:
        with engines.reading.connect() as connection:
            found: list[Any] = compare_metadata(
                MigrationContext.configure(connection, opts={"compare_type": True}), CATALOGUE
            )
            return found
    finally:
        engines.dispose()


def main() -> int:
    """Check a new SQLite file; 1 if anything differs."""
    with TemporaryDirectory() as folder:
        differences = find_differences(f"sqlite:///{Path(folder, 'fresh.db')}")
    for difference in differences:
        sys.stderr.write(f"tables and migrations differ: {difference}\n")
    return 1 if differences else 0


if __name__ == "__main__":
    sys.exit(main())
