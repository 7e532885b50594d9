"""The schema comes from migrations alone, and says the same as the tables."""

import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from alembic.script import ScriptDirectory
from alembic.util import CommandError
from sqlalchemy import create_engine, text

from server.store import check_migrations
from server.store.check_migrations import find_differences
from server.store.errors import Away
from server.store.migrate import FOLDER, is_current, migrate, newest_version
from server.store.new_migration import draft_migration
from server.store.store import Store
from server.store.tables import CATALOGUE
from tests.databases import ENGINES, PostgresServer


@pytest.fixture(params=ENGINES)
def fresh(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """The address of a database without any tables."""
    if request.param == "sqlite":
        return f"sqlite:///{tmp_path}/fresh.db"
    server: PostgresServer = request.getfixturevalue("postgres")
    return server.create()


def test_the_second_migration_finds_nothing_to_do(fresh: str) -> None:
    assert [migrate(fresh), migrate(fresh)] == [True, False]


def test_a_store_is_current_once_it_is_migrated(fresh: str) -> None:
    store = Store(fresh)

    before, done, after = is_current(store), migrate(store), is_current(store)

    store.close()
    assert (before, done, after) == (False, True, True)


def test_two_processes_that_start_at_once_migrate_once(fresh: str) -> None:
    program = "import sys; from server.store.migrate import migrate; print(migrate(sys.argv[1]))"
    command = [sys.executable, "-c", program, fresh]
    started = [subprocess.Popen(command, stdout=subprocess.PIPE, text=True) for _ in range(2)]

    said = [process.communicate(timeout=150)[0] for process in started]

    assert sorted(said) == ["False\n", "True\n"]


def test_a_migration_that_fails_leaves_nothing_behind(
    fresh: str, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    broken = shutil.copytree(FOLDER, tmp_path / "migrations")
    step = broken / "versions" / "0004_derived_rows.py"
    step.write_text(step.read_text("utf-8").replace("    _create_reminder()", "    1 / 0"), "utf-8")
    monkeypatch.setattr("server.store.migrate.FOLDER", broken)

    with pytest.raises(ZeroDivisionError):
        migrate(fresh)

    assert _tables(fresh) == set()


def test_a_database_of_a_newer_program_is_refused(fresh: str) -> None:
    migrate(fresh)
    _run(fresh, "UPDATE alembic_version SET version_num = '9999'")

    with pytest.raises(CommandError, match="9999"):
        migrate(fresh)


def test_a_database_that_is_away_cannot_be_migrated(tmp_path: Path) -> None:
    with pytest.raises(Away):
        migrate(f"sqlite:///{tmp_path}/missing/ward.db")


def test_tables_and_migrations_say_the_same(fresh: str) -> None:
    assert find_differences(fresh) == []


def test_tables_and_migrations_give_the_same_words(tmp_path: Path) -> None:
    migrate(f"sqlite:///{tmp_path}/migrated.db")
    engine = create_engine(f"sqlite:///{tmp_path}/tables.db")
    CATALOGUE.create_all(engine)
    engine.dispose()

    assert _words(tmp_path / "migrated.db") == _words(tmp_path / "tables.db")


def test_a_difference_is_found_and_told(
    fresh: str, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    migrate(fresh)
    _run(fresh, "DROP INDEX ix_event_ward_id_position")

    differences = find_differences(fresh)
    monkeypatch.setattr(check_migrations, "find_differences", lambda _: differences)

    assert ([difference[0] for difference in differences], check_migrations.main()) == (
        ["add_index"],
        1,
    )
    assert "ix_event_ward_id_position" in capsys.readouterr().err


def test_the_check_passes_as_things_stand() -> None:
    assert check_migrations.main() == 0


def test_a_draft_is_written_beside_the_other_steps(tmp_path: Path) -> None:
    folder = shutil.copytree(FOLDER, tmp_path / "migrations")

    draft_migration("add nothing", folder)

    (written,) = set(folder.glob("versions/*.py")) - {
        folder / "versions" / file.name for file in FOLDER.glob("versions/*.py")
    }
    assert f'down_revision = "{newest_version()}"' in written.read_text("utf-8").replace("'", '"')


def _tables(address: str) -> set[str]:
    store = Store(address)
    listed = (
        "SELECT name FROM sqlite_master"
        if address.startswith("sqlite")
        else "SELECT tablename FROM pg_tables WHERE schemaname = 'public'"
    )
    with store.read() as session:
        names = {str(row[0]) for row in session.rows(text(listed))}
    store.close()
    return names


def _run(address: str, statement: str) -> None:
    store = Store(address)
    with store.write() as session:
        session.run(text(statement))
    store.close()


def _words(file: Path) -> set[str]:
    """What SQLite was told for each table and index, whatever the order of its clauses."""
    engine = create_engine(f"sqlite:///{file}")
    listed = "SELECT sql FROM sqlite_master WHERE type <> 'trigger' AND sql IS NOT NULL"
    with engine.connect() as connection:
        told = [str(row[0]) for row in connection.execute(text(listed))]
    engine.dispose()
    return {_ordered(words) for words in told if "alembic_version" not in words}


def _ordered(words: str) -> str:
    head, _, body = words.partition("(")
    # SQLite writes a column that was added later behind the last line.
    added = r"\s*,\s+(?=\w+ (?:VARCHAR|TEXT|INTEGER|BOOLEAN))"
    clauses = re.split(rf",\s*\n|{added}", body.rstrip().removesuffix(")"))
    return " ".join([head, *sorted(" ".join(clause.split()) for clause in clauses)])


def test_the_newest_version_is_the_one_that_the_steps_lead_to() -> None:
    scripts = ScriptDirectory(str(FOLDER))

    assert scripts.get_current_head() == newest_version()
