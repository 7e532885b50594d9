"""A board for each test: the real application over a real, migrated SQLite file."""

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
from tests.databases import sqlite_template

__all__ = ["sqlite_template"]


@contextmanager
def opened_api(template: Path, folder: Path, **settings: Any) -> Iterator[BoardApi]:
    """A running board with an empty database in `folder`."""
    file = folder / "board.db"
    shutil.copyfile(template, file)
    clock = StoppedClock()
    app = create_app(
        Settings(database=f"sqlite:///{file}", **settings), run_jobs=False, clock=clock
    )
    with TestClient(app) as client:
        yield BoardApi(client, app.state.store, clock)


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
