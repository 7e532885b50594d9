"""Two wards with their people on a real database: SQLite, and PostgreSQL where a test asks."""

from collections.abc import Iterator
from pathlib import Path
from shutil import copyfile

import pytest

from server.store.store import Store
from tests.databases import PostgresServer, postgres, sqlite_template
from tests.services.charting import Charting
from tests.services.people import enter_everybody
from tests.services.random_files import filled, fresh_stores

__all__ = ["postgres", "sqlite_template"]


@pytest.fixture(scope="session")
def sqlite_wards(sqlite_template: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A migrated SQLite file with both wards, to copy."""
    file = tmp_path_factory.mktemp("wards") / "wards.db"
    with fresh_stores(sqlite_template, file) as (store,):
        enter_everybody(store)
    return file


@pytest.fixture(scope="module")
def charted(
    request: pytest.FixtureRequest, sqlite_wards: Path, tmp_path_factory: pytest.TempPathFactory
) -> Path:
    """The wards as the test module's own `chart` leaves them: done once, to copy."""
    file = tmp_path_factory.mktemp("charted") / "wards.db"
    with fresh_stores(sqlite_wards, file) as (store,):
        request.module.chart(Charting(store))
    return file


@pytest.fixture
def address(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """A database with both wards, after the module's `chart` for a test that takes `ward`.

    SQLite, or the engine that the test names.
    """
    charted = "ward" in request.fixturenames
    template: Path = request.getfixturevalue("charted" if charted else "sqlite_wards")
    if getattr(request, "param", "sqlite") == "sqlite":
        copy = tmp_path / "wards.db"
        copyfile(template, copy)
        return f"sqlite:///{copy}"
    server: PostgresServer = request.getfixturevalue("postgres")
    return filled(server, template)


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


@pytest.fixture
def ward(charting: Charting) -> Charting:
    """The wards after the test module's own `chart`."""
    return charting
