"""Two engines for one database: one whose connections can only read, one that writes in turn."""

import os
import sqlite3
from collections.abc import Callable
from dataclasses import dataclass
from time import monotonic, sleep
from typing import Any, Final

from sqlalchemy import URL, Connection, Engine, create_engine, event, make_url

from server.store.answering import answer_within

PATIENCE_SECONDS: Final = 10
ANSWER_SECONDS: Final = 12
"""Longer than a writer waits for its turn: that is told apart from a server that is silent."""
CONNECT_SECONDS: Final = 5
NAP_SECONDS: Final = 0.001
# Any fixed number will do: it names the one place in the queue of writers on PostgreSQL.
WRITER_KEY: Final = 4_400_001
# Both ends notice within seconds that the way between them is cut; by default it takes a quarter of
# an hour or more, and whoever is cut off would keep its locks for as long.
_SEES_A_CUT: Final = {
    "keepalives": 1,
    "keepalives_idle": 2,
    "keepalives_interval": 1,
    "keepalives_count": 2,
    "tcp_user_timeout": 4_000,
}
_SERVER_SEES_A_CUT: Final = (
    "-c timezone=UTC -c tcp_keepalives_idle=2 -c tcp_keepalives_interval=1 "
    "-c tcp_keepalives_count=2 -c tcp_user_timeout=4000"
)


@dataclass(frozen=True, slots=True)
class Engines:
    """`reading` sees one snapshot for a whole transaction; `writing` holds the only write lock."""

    reading: Engine
    writing: Engine

    def dispose(self) -> None:
        """Close all connections that are not in use."""
        self.reading.dispose()
        self.writing.dispose()


def open_engines(
    address: str,
    *,
    patience_seconds: int = PATIENCE_SECONDS,
    answer_seconds: float | None = ANSWER_SECONDS,
) -> Engines:
    """Make the engines for an SQLAlchemy address; connects to nothing yet.

    A writer waits `patience_seconds` for the writers of other processes; a server that has not
    answered a statement after `answer_seconds` counts as lost, None: never. Raises ValueError for
    what is no file and no server: two connections to memory would see two databases.
    """
    url = make_url(address)
    match url.get_backend_name():
        case "sqlite" if url.database and url.database != ":memory:":
            return _sqlite(url, patience_seconds)
        case "postgresql":
            server = url.set(drivername="postgresql+psycopg")
            return _postgresql(server, patience_seconds, answer_seconds)
    raise ValueError("a database address: expected sqlite:///FILE or postgresql+psycopg://…")


def _sqlite(url: URL, patience_seconds: int) -> Engines:
    # Parameters are patients' data: they have no business in an error message.
    options: dict[str, Any] = {
        "hide_parameters": True,
        "connect_args": {"timeout": patience_seconds},
    }
    reading = create_engine(url, pool_size=20, max_overflow=40, **options)
    writing = create_engine(url, pool_size=1, max_overflow=1, **options)
    for engine in (reading, writing):
        event.listen(engine, "connect", _prepare_sqlite)
    event.listen(reading, "connect", _forbid_writing)
    event.listen(reading, "begin", _begin)
    event.listen(writing, "connect", _use_write_ahead_log)
    event.listen(writing, "begin", _begin_immediate_within(patience_seconds))
    return Engines(reading, writing)


def _prepare_sqlite(connection: Any, _: Any) -> None:
    # None: the driver would otherwise begin transactions of its own, too late and too weak.
    connection.isolation_level = None
    connection.execute("PRAGMA foreign_keys = ON")
    # A write that was acknowledged must survive a power cut.
    connection.execute("PRAGMA synchronous = FULL")


def _use_write_ahead_log(connection: Any, _: Any) -> None:
    connection.execute("PRAGMA journal_mode = WAL")
    # From here on the waiting is done below.
    connection.execute("PRAGMA busy_timeout = 0")


def _forbid_writing(connection: Any, _: Any) -> None:
    connection.execute("PRAGMA query_only = ON")


def _begin(connection: Connection) -> None:
    _driver(connection).execute("BEGIN")


def _begin_immediate_within(patience_seconds: int) -> Callable[[Connection], None]:
    """Wait for the writers of other processes, and begin in the first gap between two of them.

    SQLite itself looks again after ever longer naps: beside a busy writer it would starve.
    """

    def begin(connection: Connection) -> None:
        driver, until = _driver(connection), monotonic() + patience_seconds
        while True:
            try:
                # A read transaction that turns into a write fails at once, however long one waits.
                driver.execute("BEGIN IMMEDIATE")
                return
            except sqlite3.OperationalError as failure:
                is_busy = failure.sqlite_errorcode & 0xFF == sqlite3.SQLITE_BUSY
                if not is_busy or monotonic() >= until:
                    raise
            sleep(NAP_SECONDS)

    return begin


def _postgresql(url: URL, patience_seconds: int, answer_seconds: float | None) -> Engines:
    # While nobody gets an answer no connection comes back: whoever waits for one is told as soon.
    options: dict[str, Any] = {
        "hide_parameters": True,
        "pool_pre_ping": True,
        "pool_timeout": patience_seconds,
    }
    # By its name an operator tells at the server whose connection it is.
    name = f"fourth-hour-{os.getpid()}"
    common: dict[str, Any] = {
        "connect_timeout": CONNECT_SECONDS,
        "application_name": name,
        **_SEES_A_CUT,
    }
    reading = create_engine(
        url,
        pool_size=20,
        max_overflow=40,
        isolation_level="REPEATABLE READ",
        execution_options={"postgresql_readonly": True},
        connect_args=common | {"options": _SERVER_SEES_A_CUT},
        **options,
    )
    waits = f"{_SERVER_SEES_A_CUT} -c lock_timeout={patience_seconds}s"
    writing = create_engine(
        url, pool_size=1, max_overflow=1, connect_args=common | {"options": waits}, **options
    )
    event.listen(writing, "begin", _wait_for_turn)
    if answer_seconds is not None:
        for engine in (reading, writing):
            answer_within(engine, answer_seconds)
    return Engines(reading, writing)


def own_connection(engine: Engine) -> Any:
    """A connection of the driver outside the pool, in which each statement is a transaction.

    For what belongs to a session of a server. Whoever asked closes it. Raises what the driver does.
    """
    pooled = engine.raw_connection()
    driver: Any = pooled.driver_connection
    pooled.detach()
    driver.autocommit = True
    return driver


def _wait_for_turn(connection: Connection) -> None:
    """One writer at a time, as on SQLite: what a service reads before it writes stays true."""
    connection.exec_driver_sql(f"SELECT pg_advisory_xact_lock({WRITER_KEY})")


def _driver(connection: Connection) -> Any:
    return connection.connection.driver_connection
