"""The real application over a real, migrated SQLite file, with two wards and their people."""

import shutil
import sqlite3
from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from server.app import create_app
from server.services.note_views import Views
from server.settings import Settings
from server.store.store import Store
from tests.api.board_api import StoppedClock
from tests.databases import sqlite_template
from tests.domain.builders import at
from tests.pages.hospital import Hospital, enter_hospital
from tests.pages.shared_device import enter_badges

__all__ = ["sqlite_template"]

REMEMBERED = ("signed_in", "kept_boards", "kept_strips", "open_links")


@pytest.fixture(scope="session")
def hospital_file(sqlite_template: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A database with both wards and everybody on them, to copy."""
    file = tmp_path_factory.mktemp("hospital") / "hospital.db"
    shutil.copyfile(sqlite_template, file)
    store = Store(f"sqlite:///{file}")
    enter_hospital(store)
    store.close()
    return file


@pytest.fixture(scope="session")
def opened(hospital_file: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Hospital]:
    """One application for all tests of a process; its database is put back before each."""
    file = tmp_path_factory.mktemp("board") / "board.db"
    shutil.copyfile(hospital_file, file)
    clock = StoppedClock(at(0))
    # The clock jumps by hours in one breath: nobody's screen locks but where a test says so.
    settings = Settings(database=f"sqlite:///{file}", lock_after=timedelta(0))
    app = create_app(settings, run_jobs=False, clock=clock)
    with TestClient(app) as client:
        yield Hospital(client, app.state.store, clock, file)


@pytest.fixture
def hospital(opened: Hospital, hospital_file: Path) -> Hospital:
    """A board as it was before anything happened; shows the base instant until a test says."""
    with sqlite3.connect(hospital_file) as kept, sqlite3.connect(opened.file) as used:
        kept.backup(used)
    opened.app.state.feed._told.clear()
    for name in REMEMBERED:
        if hasattr(opened.app.state, name):
            delattr(opened.app.state, name)
    opened.app.state.views = Views(opened.store)
    opened.clock.now = at(0)
    return opened


@pytest.fixture(scope="session")
def shared_file(
    opened: Hospital, hospital_file: Path, tmp_path_factory: pytest.TempPathFactory
) -> Path:
    """The database with two people who have badges, PINs and passwords: entered once, to copy."""
    file = tmp_path_factory.mktemp("shared") / "shared.db"
    enter_badges(hospital_file, file, opened.app.state.board_key)
    return file


@pytest.fixture
def shared(hospital: Hospital, shared_file: Path) -> Iterator[Hospital]:
    """The hospital with the two of them, and screens that lock."""
    with sqlite3.connect(shared_file) as kept, sqlite3.connect(hospital.file) as used:
        kept.backup(used)
    never = hospital.app.state.settings
    hospital.app.state.settings = replace(never, lock_after=Settings().lock_after)
    yield hospital
    hospital.app.state.settings = never
