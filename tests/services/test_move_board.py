"""A board moved into another database: whole, resumable, compared row by row."""

import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from sqlalchemy import insert, text

from server.domain.payloads import Note
from server.services.errors import Conflict
from server.services.move_board import move_board
from server.services.upgrade_database import HALF_MOVED, upgrade_database
from server.store.move import Moved, Progress
from server.store.store import Store
from server.store.tables import CATALOGUE, HEARTBEAT
from tests.databases import PostgresServer
from tests.domain.builders import at
from tests.services.charting import Charting
from tests.services.people import NURSE

STOPPED = at(60)


@pytest.fixture(params=("sqlite", "postgresql"))
def target(
    request: pytest.FixtureRequest, sqlite_template: Path, tmp_path: Path
) -> Iterator[Store]:
    """An empty database on the newest schema."""
    if request.param == "sqlite":
        shutil.copyfile(sqlite_template, tmp_path / "other.db")
        opened = Store(f"sqlite:///{tmp_path / 'other.db'}")
    else:
        server: PostgresServer = request.getfixturevalue("postgres")
        opened = Store(server.empty())
    yield opened
    opened.close()


@pytest.fixture
def board(charting: Charting) -> Charting:
    """A unit that ran and one that waits; the last tick was half an hour ago."""
    charting.run("ran", nurse_id=NURSE.id)
    charting.open("waits", "p2", bed="5")
    charting.tick(30)
    return charting


def _move(board: Charting, target: Store, progress: Progress = lambda *_: None) -> Moved:
    return move_board(board.store, target, now=STOPPED, progress=progress)


def _write(store: Store, statement: str) -> None:
    with store.engines.writing.begin() as write:
        write.execute(text(statement))


def test_every_row_arrives_and_numbers_go_on(board: Charting, target: Store) -> None:
    told: list[tuple[str, int, int]] = []
    before, there = board.everything(), Charting(target)
    moved = _move(board, target, lambda *step: told.append(step))

    count = sum(len(rows) for rows in before.values())
    assert moved == Moved(len(CATALOGUE.sorted_tables) - 1, count)
    assert there.everything() == before == board.everything()
    events = len(before["event"])
    assert ("event", events, events) in told
    assert ("= event", events, events) in told
    there.record(61, Note("moved"), "ran")
    numbers = [row[0] for row in there.everything()["event"]]
    assert sorted(numbers) == list(range(1, events + 2))
    assert there.rebuild(61).differed == ()


def test_what_broke_off_goes_on_and_takes_in_what_changed_meanwhile(
    board: Charting, target: Store
) -> None:
    _break_off(board, target, "transition")
    with pytest.raises(Conflict, match="not arrived whole"):
        upgrade_database(target, now=STOPPED)
    assert HALF_MOVED.startswith("what was to be moved")
    _write(target, "UPDATE ward SET name = 'was called so'")
    with target.engines.writing.begin() as write:
        write.execute(insert(HEARTBEAT), [{"name": name, "at": at(0)} for name in ("gone", "zone")])
    board.record(20, Note("meanwhile"), "ran")

    _move(board, target)

    assert Charting(target).everything() == board.everything()
    assert upgrade_database(target, now=STOPPED) is False


def _break_off(board: Charting, target: Store, where: str) -> None:
    def stop(table: str, *_: int) -> None:
        if table == where:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        _move(board, target, stop)


def test_what_an_upgrade_left_to_do_is_left_to_do_there(board: Charting, target: Store) -> None:
    _write(board.store, "INSERT INTO upgrade_work (name) VALUES ('derived_rows')")
    _move(board, target)

    assert Charting(target).everything()["upgrade_work"] == [("derived_rows",)]
    assert upgrade_database(target, now=STOPPED) is True
    assert Charting(target).everything()["upgrade_work"] == []


def _holds_something(target: Store) -> Progress:
    with target.engines.writing.begin() as write:
        write.execute(insert(HEARTBEAT), {"name": "tick", "at": at(0)})
    return lambda *_: None


def _is_altered(target: Store) -> Progress:
    return _when("transition", lambda: _write(target, "UPDATE patient SET family_name = 'Other'"))


def _gains_a_row(target: Store) -> Progress:
    more = (
        "INSERT INTO transition (position, episode_id, clock, n, to_state, at, noticed_at) "
        "SELECT position + 1, episode_id, clock, n, to_state, at, noticed_at "
        "FROM transition ORDER BY position DESC LIMIT 1"
    )
    return _when("transition", lambda: _write(target, more))


def _when(where: str, act: Callable[[], None]) -> Progress:
    def progress(table: str, *_: int) -> None:
        if table == where:
            act()

    return progress


@pytest.mark.parametrize(
    ("prepare", "said"),
    [
        (_holds_something, "the target holds rows in heartbeat; expected an empty database"),
        (_is_altered, r"patient: \('p1',\) is not what was moved"),
        (_gains_a_row, r"transition: \(\d+,\) is not what was moved"),
    ],
)
def test_a_target_that_is_not_what_was_moved_is_refused(
    board: Charting, target: Store, prepare: Callable[[Store], Progress], said: str
) -> None:
    progress = prepare(target)

    with pytest.raises(Conflict, match=said):
        _move(board, target, progress)


def test_nobody_writes_to_the_source_meanwhile(board: Charting, target: Store) -> None:
    impatient = Store(board.store.address, patience_seconds=0)
    refused: set[str] = set()

    def try_it(*_: object) -> None:
        try:
            _write(impatient, "UPDATE ward SET name = 'changed'")
        except Exception as failure:  # noqa: BLE001 - whatever it is, it is looked at below
            refused.add(str(getattr(failure, "orig", failure)))

    _move(board, target, try_it)
    impatient.close()

    assert refused == {"database is locked"}


def test_a_board_that_still_runs_or_is_there_already_is_not_moved(
    board: Charting, target: Store
) -> None:
    with pytest.raises(Conflict, match="still runs on this database"):
        move_board(board.store, target, now=at(30))
    with pytest.raises(Conflict, match="in that database already"):
        move_board(board.store, board.store, now=STOPPED)
    assert Charting(target).everything()["ward"] == []
