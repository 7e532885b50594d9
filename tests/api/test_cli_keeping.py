"""The command line: a board moved into another database, backups written and put back."""

import re
from argparse import Namespace
from datetime import timedelta
from pathlib import Path

import pytest
from sqlalchemy import select

from server.cli_backup import run_backup
from server.store.store import Store
from server.store.tables import TOKEN
from tests.api.commands import Run, run, store
from tests.domain.builders import at

__all__ = ["run", "store"]


@pytest.mark.usefixtures("store")
def test_a_board_is_moved_into_another_database(run: Run, tmp_path: Path) -> None:
    target = f"sqlite:///{tmp_path / 'other.db'}"
    assert run("token", "--name", "Lab", "--role", "manager")[0] == 0
    result, printed, said = run("migrate", "--to", target)

    assert (result, said) == (0, "")
    assert re.search(r"\d+ rows of \d+ tables were moved, and compared one by one\n", printed)
    with Store(target).read() as session:
        assert session.value(select(TOKEN.c.name)) == "Lab"
    again = run("migrate", "--to", target)
    assert (again[0], "expected an empty database" in again[2]) == (1, True)


@pytest.mark.usefixtures("store")
def test_a_backup_is_written_and_put_back(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert run("token", "--name", "Lab", "--role", "manager")[0] == 0
    result, printed, _ = run("backup", f"{tmp_path / 'kept'}")
    (file,) = (tmp_path / "kept").iterdir()
    assert (result, printed.startswith(f"{file}: ")) == (0, True)

    monkeypatch.setenv("FOURTH_HOUR_DATABASE", f"sqlite:///{tmp_path / 'new.db'}")
    result, printed, _ = run("restore", f"{file}")

    assert (result, printed.splitlines()[1]) == (0, "every unit was worked out anew: 0 differed")
    with Store(f"sqlite:///{tmp_path / 'new.db'}").read() as session:
        assert session.value(select(TOKEN.c.name)) == "Lab"


def test_backups_go_on_every_few_hours_and_the_newest_stay(store: Store, tmp_path: Path) -> None:
    clock = iter([at(0), at(360), at(720)])
    waited: list[float] = []

    def wait(seconds: float) -> None:
        waited.append(seconds)
        if len(waited) == 3:
            raise KeyboardInterrupt

    options = Namespace(folder=tmp_path / "kept", keep=2, every=timedelta(hours=6))
    with pytest.raises(KeyboardInterrupt):
        run_backup(store, options, clock=lambda: next(clock), bar=lambda *_: None, wait=wait)

    assert waited == [21600.0] * 3
    assert sorted(one.name for one in (tmp_path / "kept").iterdir()) == [
        "fourth-hour-20260303T160000Z.db",
        "fourth-hour-20260303T220000Z.db",
    ]


def test_where_a_board_cannot_be_moved_is_said(run: Run) -> None:
    result, _, said = run("migrate", "--to", "mysql://elsewhere/board")
    expected = "a database address: expected sqlite:///FILE or postgresql+psycopg://…"

    assert (result, said) == (1, f"fourth-hour migrate: --to is not {expected}\n")
