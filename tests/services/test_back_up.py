"""Backups while the board runs, and the drill of putting one back: nothing is lost."""

import shutil
import sqlite3
from collections.abc import Iterator
from pathlib import Path
from threading import Event, Thread

import pytest
from sqlalchemy import text

from server.domain.payloads import Note
from server.services.back_up import back_up, keep_newest, restore
from server.services.errors import Conflict
from server.services.rebuild import Rebuilt
from server.store.migrate import FOLDER, newest_version
from server.store.store import Store
from tests.databases import ENGINES, PostgresServer
from tests.domain.builders import at
from tests.services.charting import Charting, Rows
from tests.services.engines import ON_BOTH_ENGINES
from tests.services.poison import ASKED, DAMAGED_REQUEST, tamper, write_past

NAME = "fourth-hour-20260303T110000Z.db"
LATER = """
revision = "9999"
down_revision = "{}"


def upgrade() -> None:
    pass
"""


@pytest.fixture
def board(charting: Charting) -> Charting:
    """A unit that ran, one that waits, one tick."""
    charting.run("ran")
    charting.open("waits", "p2", bed="5")
    charting.tick(30)
    return charting


@pytest.fixture(params=ENGINES)
def empty(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Store]:
    """A database without any table."""
    address = f"sqlite:///{tmp_path / 'empty.db'}"
    if request.param == "postgresql":
        server: PostgresServer = request.getfixturevalue("postgres")
        address = server.create()
    opened = Store(address)
    yield opened
    opened.close()


def test_the_drill(board: Charting, empty: Store, tmp_path: Path) -> None:
    before = board.everything()
    file, written = back_up(board.store, tmp_path / "kept", now=at(60))
    back, rebuilt = restore(file, empty, now=at(60))

    assert file == tmp_path / "kept" / NAME
    assert [one.name for one in (tmp_path / "kept").iterdir()] == [NAME]
    assert written == back
    assert written.rows == sum(len(rows) for rows in before.values())
    assert rebuilt == Rebuilt(2, ())
    assert Charting(empty).everything() == before
    with pytest.raises(Conflict, match="expected an empty database"):
        restore(file, empty, now=at(61))


@ON_BOTH_ENGINES
def test_a_backup_is_of_one_moment_while_the_board_goes_on(board: Charting, tmp_path: Path) -> None:
    before, begun = board.everything(), Event()
    writer = Thread(target=lambda: begun.wait(60) and board.record(61, Note("meanwhile"), "ran"))
    writer.start()

    def meanwhile(*_: object) -> None:
        begun.set()
        writer.join(60)

    file, _ = back_up(board.store, tmp_path, now=at(60), progress=meanwhile)

    assert _everything(file) == before
    assert len(board.everything()["event"]) == len(before["event"]) + 1


def _everything(file: Path) -> Rows:
    opened = Store(f"sqlite:///{file}")
    everything = Charting(opened).everything()
    opened.close()
    return everything


def test_what_broke_off_leaves_no_backup_and_is_no_hindrance(
    board: Charting, tmp_path: Path
) -> None:
    def stop(*_: object) -> None:
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        back_up(board.store, tmp_path / "kept", now=at(60), progress=stop)
    assert not list((tmp_path / "kept").glob("*.db"))

    file, _ = back_up(board.store, tmp_path / "kept", now=at(60))

    assert _everything(file) == board.everything()
    assert [one.name for one in (tmp_path / "kept").iterdir()] == [NAME]


def test_the_newest_stay(tmp_path: Path) -> None:
    days = [f"fourth-hour-202603{day:02d}T110000Z.db" for day in range(1, 6)]
    for name in (*days, "other.db"):
        (tmp_path / name).touch()

    assert [one.name for one in keep_newest(tmp_path, 2)] == days[:3]
    assert sorted(one.name for one in tmp_path.glob("*.db")) == [*days[3:], "other.db"]
    assert keep_newest(tmp_path, 2) == ()


def test_a_backup_of_an_older_schema_is_put_back_and_stays_as_it_was(
    board: Charting, empty: Store, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    file, _ = back_up(board.store, tmp_path, now=at(60))
    kept = file.read_bytes()
    folder = shutil.copytree(FOLDER, tmp_path / "migrations")
    (folder / "versions" / "9999_later.py").write_text(LATER.format(newest_version()))
    monkeypatch.setattr("server.store.migrate.FOLDER", folder)

    _, rebuilt = restore(file, empty, now=at(60))

    assert rebuilt == Rebuilt(2, ())
    assert file.read_bytes() == kept
    assert Charting(empty).everything() == board.everything()


def test_a_backup_that_is_not_there_or_none_is_refused(empty: Store, tmp_path: Path) -> None:
    with pytest.raises(OSError, match="No such file"):
        restore(tmp_path / "none.db", empty, now=at(0))


def test_a_backup_with_an_altered_fact_does_not_pass_for_sound(
    board: Charting, empty: Store, tmp_path: Path
) -> None:
    file, _ = back_up(board.store, tmp_path, now=at(60))
    altered = sqlite3.connect(file)
    altered.execute("UPDATE episode_state SET phase = 'ended' WHERE episode_id = 'ran'")
    altered.commit()
    altered.close()

    assert restore(file, empty, now=at(60))[1] == Rebuilt(2, ("ran",))


@ON_BOTH_ENGINES
def test_what_is_damaged_is_kept_and_put_back_as_it_is_and_named(
    board: Charting, empty: Store, tmp_path: Path
) -> None:
    tamper(board.store, DAMAGED_REQUEST, "ran")
    write_past(board.store, "UPDATE event SET payload = 'no JSON' WHERE position = 2")
    asked = text("SELECT component, requirements FROM episode WHERE id = 'ran'")
    told = text("SELECT payload FROM event WHERE position = 2")

    file, _ = back_up(board.store, tmp_path, now=at(60))
    _, rebuilt = restore(file, empty, now=at(60))

    with empty.read() as session:
        assert tuple(session.rows(asked)[0]) == ("blood", "5")
        assert session.value(told) == "no JSON"
    assert rebuilt == Rebuilt(2, (), ("ran",))


def test_a_row_that_no_program_can_read_is_named_and_no_half_backup_stays(
    board: Charting, tmp_path: Path
) -> None:
    tamper(board.store, f"{ASKED}bed = CAST(x'ff41' AS TEXT)", "ran")
    with pytest.raises(Conflict, match=r"episode: \('ran',\) cannot be read") as refused:
        back_up(board.store, tmp_path / "kept", now=at(60))

    assert "\ufffd" not in refused.value.why
    assert [*(tmp_path / "kept").iterdir()] == []
