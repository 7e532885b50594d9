"""Two wards with their people on a real database: SQLite, and PostgreSQL where a test asks."""

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from server.store.store import Store
from tests.databases import PostgresServer, postgres, sqlite_template
from tests.services.charting import Charting
from tests.services.people import enter_everybody

__all__ = ["postgres", "sqlite_template"]


@pytest.fixture(scope="session")
def sqlite_wards(sqlite_template: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A migrated SQLite file with both wards, to copy."""
    file = tmp_path_factory.mktemp("wards") / "wards.db"
    shutil.copyfile(sqlite_template, file)
    _enter(f"sqlite:///{file}")
    return file


@pytest.fixture
def address(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """A database with both wards: a copy of the SQLite file, or the engine that is named."""
    if getattr(request, "param", "sqlite") == "sqlite":
        copy = tmp_path / "wards.db"
        shutil.copyfile(request.getfixturevalue("sqlite_wards"), copy)
        return f"sqlite:///{copy}"
    server: PostgresServer = request.getfixturevalue("postgres")
    empty = server.empty()
    _enter(empty)
    return empty


@pytest.fixture
def store(address: str) -> Iterator[Store]:
    """An open Store on both wards."""
    opened = Store(address)
    yield opened
    opened.close()


@pytest.fixture
def charting(store: Store) -> Charting:
    """Short ways to chart on both wards."""
    return Charting(store)


def _enter(address: str) -> None:
    opened = Store(address)
    enter_everybody(opened)
    opened.close()
