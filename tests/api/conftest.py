"""A board for each test: the real application over a real, migrated database.

An SQLite file; a PostgreSQL as well where a test module asks for `either_api`.
"""

import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from server.app import create_app
from server.settings import Settings
from tests.api.board_api import BoardApi, StoppedClock
from tests.databases import ENGINES, PostgresServer, postgres, sqlite_template

__all__ = ["postgres", "sqlite_template"]


@contextmanager
def opened_api(template: Path, folder: Path, **settings: Any) -> Iterator[BoardApi]:
    """A running board with an empty database in `folder`."""
    file = shutil.copyfile(template, folder / "board.db")
    with opened_at(f"sqlite:///{file}", **settings) as opened:
        yield opened


@contextmanager
def opened_at(address: str, **settings: Any) -> Iterator[BoardApi]:
    """A running board on an empty database."""
    clock = StoppedClock()
    app = create_app(Settings(database=address, **settings), run_jobs=False, clock=clock)
    with TestClient(app) as client:
        yield BoardApi(client, app.state.store, clock)


@pytest.fixture(scope="module", params=ENGINES)
def either_api(
    request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[BoardApi]:
    """A board without any ward for a whole module: once on an SQLite file, once on a PostgreSQL."""
    folder = tmp_path_factory.mktemp("either")
    if request.param == "sqlite":
        template: Path = request.getfixturevalue("sqlite_template")
        address = f"sqlite:///{shutil.copyfile(template, folder / 'board.db')}"
    else:
        server: PostgresServer = request.getfixturevalue("postgres")
        address = server.empty()
    with opened_at(address, key_file=folder / "board.key") as opened:
        yield opened


@pytest.fixture
def api(sqlite_template: Path, tmp_path: Path) -> Iterator[BoardApi]:
    """A board without any ward."""
    with opened_api(sqlite_template, tmp_path) as opened:
        yield opened


@pytest.fixture
def ward(api: BoardApi) -> BoardApi:
    """A board with ward `w1` and, on it, episode `e1` of patient `p1`."""
    api.ward()
    api.episode()
    return api
