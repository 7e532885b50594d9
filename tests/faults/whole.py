"""What has to be true of a database after any fault."""

import sqlite3
from contextlib import closing
from pathlib import Path

from sqlalchemy import text

from server.clock import utc_now
from server.services.check_audit import verify
from server.services.rebuild import rebuild
from server.store.store import Store
from tests.faults.programs import address_of

STAGES = text(
    "SELECT episode_id, clock, n, stage, repeat, owed_at FROM reminder "
    "GROUP BY 1, 2, 3, 4, 5, 6 HAVING count(*) > 1"
)


def require_whole(database: Path | str) -> None:
    """Derived rows follow from the facts, no stage reminded twice, the audit trail is one chain.

    Of a file SQLite itself finds nothing wrong either.
    """
    if isinstance(database, Path):
        assert is_sound(database)
    store = Store(address_of(database))
    try:
        rebuilt = rebuild(store, utc_now)
        with store.read() as session:
            verdict, twice = verify(session), session.rows(STAGES)
    finally:
        store.close()
    assert (rebuilt.differed, verdict.broken, list(twice)) == ((), None, [])


def is_sound(database: Path) -> bool:
    """Whether SQLite itself finds nothing wrong with a file."""
    with closing(sqlite3.connect(database)) as connection:
        found = connection.execute("PRAGMA integrity_check").fetchall()
        broken = connection.execute("PRAGMA foreign_key_check").fetchall()
    return (found, broken) == ([("ok",)], [])
