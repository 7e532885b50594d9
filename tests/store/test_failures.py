"""What is told when the database is not there, and what stays our own mistake."""

import sqlite3
from pathlib import Path

import pytest
from sqlalchemy import insert, text
from sqlalchemy.exc import DBAPIError

from server.domain.words import Role
from server.store.engines import open_engines
from server.store.errors import Away, Clash
from server.store.heartbeat import last_beat
from server.store.staff import Staff, save_staff
from server.store.store import Store
from server.store.tables import HEARTBEAT
from server.store.wards import Ward
from tests.databases import THROW_OTHERS_OUT, PostgresServer


def test_a_folder_that_is_missing_is_away(tmp_path: Path) -> None:
    store = Store(f"sqlite:///{tmp_path}/missing/ward.db")

    with pytest.raises(Away), store.read():
        pytest.fail("there is nothing to read")
    with pytest.raises(Away), store.write():
        pytest.fail("there is nothing to write to")
    with pytest.raises(Away):
        store.ward_revision("w1")


def test_a_file_that_is_no_database_is_away(tmp_path: Path) -> None:
    (tmp_path / "ward.db").write_bytes(b"no database at all" * 100)
    store = Store(f"sqlite:///{tmp_path}/ward.db")

    with pytest.raises(Away, match="not a database"), store.write():
        pytest.fail("there is nothing to write to")
    with pytest.raises(Away, match="not a database"), store.read() as session:
        last_beat(session, "tick")


def test_a_file_locked_by_another_program_is_away_only_while_it_is(tmp_path: Path) -> None:
    store = Store(f"sqlite:///{tmp_path}/ward.db", patience_seconds=0)
    other = sqlite3.connect(tmp_path / "ward.db", isolation_level=None)
    other.execute("BEGIN EXCLUSIVE")

    with pytest.raises(Away, match="locked"), store.write():
        pytest.fail("another program writes")
    other.close()

    with store.write() as session:
        assert session.value(text("SELECT 1")) == 1
    store.close()


def test_a_server_that_is_gone_is_away(tmp_path: Path) -> None:
    store = Store(f"postgresql+psycopg://nobody@/ward?host={tmp_path}")

    with pytest.raises(Away), store.read():
        pytest.fail("there is nothing to read")


def test_lost_connections_to_the_server_are_away_once_and_then_made_anew(
    postgres: PostgresServer,
) -> None:
    address = postgres.empty()
    store = Store(address)

    def lose() -> None:
        with store.write() as session:
            session.value(text("SELECT 1"))
            postgres.run(THROW_OTHERS_OUT, address)
            session.value(text("SELECT 1"))

    with pytest.raises(Away):
        lose()

    with store.write() as session:
        assert session.value(text("SELECT 1")) == 1
    store.close()


def test_a_question_for_the_revision_recovers_by_itself(
    postgres: PostgresServer,
) -> None:
    address = postgres.empty()
    store = Store(address)
    before = store.ward_revision("w1")
    postgres.run(THROW_OTHERS_OUT, address)

    with pytest.raises(Away):
        store.ward_revision("w1")

    assert (before, store.ward_revision("w1")) == (None, None)
    store.close()


def test_no_connection_left_is_away(store: Store) -> None:
    store.engines.reading.pool._timeout = 0  # type: ignore[attr-defined]
    store.engines.reading.pool._max_overflow = 0  # type: ignore[attr-defined]
    held = [store.engines.reading.connect() for _ in range(20)]

    with pytest.raises(Away, match="limit"), store.read():
        pytest.fail("all connections are in use")

    for connection in held:
        connection.close()


def test_a_mistake_in_a_statement_stays_a_mistake(store: Store) -> None:
    with pytest.raises(DBAPIError), store.read() as session:
        session.rows(text("SELECT nothing FROM nowhere"))


def test_an_error_message_holds_no_parameters(store: Store) -> None:
    named = text("SELECT nothing FROM nowhere WHERE name = :name")

    with pytest.raises(DBAPIError) as raised, store.read() as session:
        session.rows(named, {"name": "Alder"})

    assert "Alder" not in str(raised.value)


def test_a_clash_names_the_rule_and_not_the_person(store: Store, ward: Ward) -> None:
    with store.write() as session:
        save_staff(session, Staff("s1", "Ida", Role.MANAGER, frozenset({ward.id}), "ida.alder"))

    with pytest.raises(Clash, match="sign_in_name") as raised, store.write() as session:
        save_staff(session, Staff("s2", "Ida", Role.MANAGER, frozenset({ward.id}), "ida.alder"))

    assert "ida.alder" not in str(raised.value)


def test_what_must_not_be_empty_is_named(store: Store) -> None:
    with pytest.raises(Clash, match=r"null|NULL"), store.write() as session:
        session.run(insert(HEARTBEAT), {"name": "tick"})


@pytest.mark.parametrize("address", ["sqlite://", "sqlite:///:memory:", "mysql://host/ward"])
def test_an_address_that_is_no_file_and_no_server_is_refused(address: str) -> None:
    with pytest.raises(ValueError, match=r"sqlite:///FILE or postgresql\+psycopg"):
        open_engines(address)


def test_sqlite_is_set_up_to_survive_a_power_cut(tmp_path: Path) -> None:
    store = Store(f"sqlite:///{tmp_path}/ward.db")
    asked = ("journal_mode", "synchronous", "foreign_keys", "busy_timeout", "query_only")

    with store.write() as session:
        writing = [session.value(text(f"PRAGMA {name}")) for name in asked]
    with store.read() as session:
        reading = [session.value(text(f"PRAGMA {name}")) for name in asked]

    store.close()
    assert writing == ["wal", 2, 1, 0, 0]  # it waits for other writers by itself
    assert reading == ["wal", 2, 1, 10_000, 1]
