"""`fourth-hour demo` from its command line to a board that is served."""

import signal
from collections.abc import Iterator
from datetime import datetime, timedelta
from pathlib import Path

import pytest

from seed_demo.run import main
from seed_demo.staff import SET_UP, WARD_ID
from server.clock import Clock
from server.policies import load_policies
from server.services.actor import SYSTEM
from server.services.enter_ward import WardDraft, enter_ward
from server.services.read_board import Board, read_board
from server.services.tick import tick
from server.settings import Settings
from server.store.migrate import migrate
from server.store.store import Store
from tests.services.demo_ward import START, opened

QUIET = ["--no-browser", "--port", "0", "--timezone", "Europe/Oslo"]


@pytest.fixture(autouse=True)
def _own_signals() -> Iterator[None]:
    before = signal.getsignal(signal.SIGTERM)
    yield
    signal.signal(signal.SIGTERM, before)


class Served:
    """Takes the place of the server: looks at the board and is told to stop."""

    def __init__(self) -> None:
        self.boards: list[Board] = []
        self.settings: list[Settings] = []
        self.nows: list[datetime] = []

    def __call__(self, settings: Settings, store: Store, clock: Clock) -> None:
        """Look once."""
        self.settings.append(settings)
        self.nows.append(clock())
        with store.read() as session:
            self.boards.append(read_board(session, SYSTEM, WARD_ID, now=clock()))
        signal.raise_signal(signal.SIGTERM)


def test_it_tells_the_ward_serves_it_then_and_goes_on_with_it_next_time(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    served, file = Served(), tmp_path / "ward.db"
    given = [*QUIET, "--database", str(file)]

    told = main([*given, "--weeks", "0", "--no-serve"], served)
    assert (told, served.boards, (tmp_path / "ward.key").exists()) == (0, [], True)
    assert f"  Serve     FOURTH_HOUR_DATABASE=sqlite:///{file} " in capsys.readouterr().out

    first = main([*given, "--speed", "60"], served)
    said = capsys.readouterr().out
    ahead = served.boards[0].at + timedelta(hours=5)
    with opened(file) as store:
        tick(store, now=ahead)
    second = main(given, served)

    assert (first, second) == (0, 0)
    assert f"Database  sqlite:///{file}\n            (kept)" in said
    assert [len(board.rows) for board in served.boards] == [25, 25]
    assert served.boards[0].ward.timezone == "Europe/Oslo"
    assert ahead <= served.nows[1] < ahead + timedelta(minutes=1)
    assert [one.session_length for one in served.settings] == [
        timedelta(hours=13 * 60),
        timedelta(hours=13),
    ]


def test_it_leaves_the_database_of_another_ward_alone(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "real.db"
    with opened(file) as store:
        migrate(store)
        with store.write() as session:
            draft = WardDraft("w1", "Ward 4", "common", "Europe/London")
            enter_ward(session, SET_UP, draft, load_policies(), now=START)

    code = main([*QUIET, "--database", str(file)], Served())

    assert code == 1
    assert capsys.readouterr().err == (
        f"fourth-hour demo: {file} holds other wards; the demo wants its own database\n"
    )
    with opened(file) as store, store.read() as session:
        assert read_board(session, SYSTEM, "w1", now=START).ward.name == "Ward 4"


def test_a_zone_that_does_not_exist_is_said(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    given = ["--no-browser", "--timezone", "Nowhere/Town", "--database", str(tmp_path / "w.db")]

    assert main(given, Served()) == 1
    assert "timezone: is no time zone" in capsys.readouterr().err
