"""Two engines for one database: one whose connections can only read, one that writes in turn."""

from dataclasses import dataclass
from typing import Any, Final

from sqlalchemy import URL, Connection, Engine, create_engine, event, make_url, text

BUSY_SECONDS: Final = 5
# Any fixed number will do: it names the one place in the queue of writers on PostgreSQL.
WRITER_KEY: Final = 4_400_001


@dataclass(frozen=True, slots=True)
class Engines:
    """`reading` sees one snapshot for a whole transaction; `writing` has the only write lock."""

    reading: Engine
    writing: Engine

    def dispose(self) -> None:
        """Close all pooled connections."""
        self.reading.dispose()
        self.writing.dispose()


def open_engines(address: str) -> Engines:
    """Make the engines for an SQLAlchemy address; connects to nothing yet.

    Raises ValueError for a database that is not a file or a server: two connections to a
    database in memory would be two databases.
    """
    url = make_url(address)
    match url.get_backend_name():
        case "sqlite" if url.database and url.database != ":memory:":
            return _sqlite(url)
        case "postgresql":
            return _postgresql(url.set(drivername="postgresql+psycopg"))
    message = "expected sqlite:///FILE or postgresql+psycopg://…"
    raise ValueError(message)


def _sqlite(url: URL) -> Engines:
    options: dict[str, Any] = {"hide_parameters": True, "connect_args": {"timeout": BUSY_SECONDS}}
    reading = create_engine(url, pool_size=10, max_overflow=50, **options)
    writing = create_engine(url, pool_size=1, max_overflow=1, **options)
    for engine in (reading, writing):
        event.listen(engine, "connect", _prepare_sqlite)
    event.listen(reading, "connect", _forbid_writing)
    event.listen(reading, "begin", lambda connection: connection.exec_driver_sql("BEGIN"))
    event.listen(writing, "connect", _use_write_ahead_log)
    event.listen(writing, "begin", _begin_immediate)
    return Engines(reading, writing)


def _prepare_sqlite(connection: Any, _: Any) -> None:
    # None: the driver would otherwise begin transactions of its own, too late and too weak.
    connection.isolation_level = None
    connection.execute(f"PRAGMA busy_timeout = {BUSY_SECONDS * 1000}")
    connection.execute("PRAGMA foreign_keys = ON")
    # A write that was acknowledged must survive a power cut.
    connection.execute("PRAGMA synchronous = FULL")


def _use_write_ahead_log(connection: Any, _: Any) -> None:
    connection.execute("PRAGMA journal_mode = WAL")


def _forbid_writing(connection: Any, _: Any) -> None:
    connection.execute("PRAGMA query_only = ON")


def _begin_immediate(connection: Connection) -> None:
    # A read transaction that turns into a write fails at once however long one would wait.
    connection.exec_driver_sql("BEGIN IMMEDIATE")


def _postgresql(url: URL) -> Engines:
    options: dict[str, Any] = {
        "hide_parameters": True,
        "pool_pre_ping": True,
        "connect_args": {"options": "-c timezone=UTC", "connect_timeout": BUSY_SECONDS},
    }
    reading = create_engine(
        url,
        pool_size=10,
        max_overflow=50,
        isolation_level="REPEATABLE READ",
        execution_options={"postgresql_readonly": True},
        **options,
    )
    writing = create_engine(url, pool_size=1, max_overflow=1, **options)
    event.listen(writing, "begin", _wait_for_turn)
    return Engines(reading, writing)


def _wait_for_turn(connection: Connection) -> None:
    """One writer at a time, as on SQLite: what a service reads before it writes stays true."""
    connection.execute(text(f"SET LOCAL lock_timeout = '{BUSY_SECONDS}s'"))
    connection.execute(text(f"SELECT pg_advisory_xact_lock({WRITER_KEY})"))
