"""The command line on a database of the test's own."""

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from server.cli import main
from server.clock import utc_now
from server.policies import load_policies
from server.services.actor import AT_THE_COMMAND_LINE
from server.services.enter_ward import WardDraft, enter_ward
from server.store.store import Store

Run = Callable[..., tuple[int, str, str]]


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Run:
    """Run a command on a database in the test's folder; its result, and what it printed."""
    monkeypatch.setenv("FOURTH_HOUR_DATABASE", f"sqlite:///{tmp_path / 'board.db'}")
    monkeypatch.chdir(tmp_path)

    def command(*arguments: str) -> tuple[int, str, str]:
        result = main(arguments)
        return result, *capsys.readouterr()

    return command


@pytest.fixture
def store(tmp_path: Path, run: Run) -> Iterator[Store]:
    """The migrated database of the commands, with ward `w1`: two rows of the audit trail."""
    run("migrate")
    opened = Store(f"sqlite:///{tmp_path / 'board.db'}")
    with opened.write() as session:
        draft = WardDraft("w1", "Ward", "common", "UTC")
        enter_ward(session, AT_THE_COMMAND_LINE, draft, load_policies(), now=utc_now())
    yield opened
    opened.close()
