"""The real application over a real, migrated database, with two wards and their people.

An SQLite file; for the pages by which units are given and judged a PostgreSQL as well.
"""

import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from server.app import create_app
from server.services.note_views import Views
from server.settings import Settings
from server.store.migrate import migrate
from server.store.store import Store
from tests.api.board_api import StoppedClock
from tests.databases import ENGINES, PostgresServer, postgres, sqlite_template
from tests.domain.builders import at
from tests.pages.hospital import Hospital, enter_hospital
from tests.pages.kept_rows import KeptRows
from tests.pages.shared_device import enter_badges

__all__ = ["postgres", "sqlite_template"]

ON_BOTH_ENGINES = frozenset(
    f"tests.pages.test_{name}"
    for name in (
        "live_boards",
        "mine",
        "record_events",
        "refused_starts",
        "reaction_forms",
        "observations",
        "handing",
        "identity",
        "plan_asking",
        "plan_by_hand",
        "plan_day",
        "plan_page",
        "review_page",
        "rates",
        "breaches_page",
        "sign_in",
        "rights_taken_away",
    )
)
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


def pytest_generate_tests(metafunc: pytest.Metafunc) -> None:
    """Look at some pages on both engines."""
    if "engine" in metafunc.fixturenames and metafunc.module.__name__ in ON_BOTH_ENGINES:
        metafunc.parametrize("engine", ENGINES, indirect=True)


@contextmanager
def _serving(address: str, file: Path) -> Iterator[Hospital]:
    """An application for many tests; `file` is where its key is and, on SQLite, its database."""
    clock = StoppedClock(at(0))
    # The clock jumps by hours in one breath: nobody's screen locks but where a test says so.
    settings = Settings(
        database=address, key_file=file.with_suffix(".key"), lock_after=timedelta(0)
    )
    app = create_app(settings, run_jobs=False, clock=clock)
    with TestClient(app) as client:
        yield Hospital(client, app.state.store, clock, file)


@pytest.fixture(scope="session")
def opened(hospital_file: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Hospital]:
    """One application for all tests of a process; its database is put back before each."""
    file = tmp_path_factory.mktemp("board") / "board.db"
    shutil.copyfile(hospital_file, file)
    with _serving(f"sqlite:///{file}", file) as hospital:
        yield hospital


@pytest.fixture(scope="session")
def kept_rows(postgres: PostgresServer) -> KeptRows:
    """A database of a server with the same people on both wards, which can be put back."""
    address = postgres.create()
    migrate(address)
    store = Store(address)
    enter_hospital(store)
    store.close()
    return KeptRows(postgres, address)


@pytest.fixture(scope="module")
def opened_on_server(
    kept_rows: KeptRows, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[Hospital]:
    """One on PostgreSQL for the tests of a module; what later ones do to the server is no news."""
    folder = tmp_path_factory.mktemp("server")
    with _serving(kept_rows.address, folder / "board") as hospital:
        yield hospital


@pytest.fixture
def engine(request: pytest.FixtureRequest) -> str:
    """The engine under the pages."""
    return str(getattr(request, "param", "sqlite"))


@pytest.fixture
def hospital(engine: str, request: pytest.FixtureRequest) -> Hospital:
    """A board as it was before anything happened; shows the base instant until a test says."""
    on_file = engine == "sqlite"
    opened: Hospital = request.getfixturevalue("opened" if on_file else "opened_on_server")
    if on_file:
        put_back(request.getfixturevalue("hospital_file"), opened)
    else:
        request.getfixturevalue("kept_rows").put_back()
    opened.app.state.feed._told.clear()
    for name in REMEMBERED:
        if hasattr(opened.app.state, name):
            delattr(opened.app.state, name)
    opened.app.state.views = Views(opened.store)
    opened.clock.now = at(0)
    return opened


def put_back(kept: Path, opened: Hospital) -> None:
    """Have the file of a hospital hold what another holds."""
    with sqlite3.connect(kept) as source, sqlite3.connect(opened.file) as used:
        source.backup(used)


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
    put_back(shared_file, hospital)
    never = hospital.app.state.settings
    hospital.app.state.settings = replace(never, lock_after=Settings().lock_after)
    yield hospital
    hospital.app.state.settings = never
