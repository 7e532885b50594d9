"""The audit trail as tests look at it."""

from typing import Final

from sqlalchemy import text

from server.domain.audit_chain import Link
from server.store.audit import links_after
from server.store.store import Store

OFF_GUARD: Final = {
    "sqlite": [
        f"DROP TRIGGER IF EXISTS audit_{name}" for name in ("no_update", "no_delete", "no_replace")
    ],
    # The database of the tests is used again: its triggers are passed over, not dropped.
    "postgresql": ["SET LOCAL session_replication_role = replica"],
}

NO_SPACE: Final = (
    "CREATE TRIGGER full BEFORE INSERT ON audit BEGIN SELECT RAISE(ABORT, 'the disk is full'); END"
)
SPACE: Final = "DROP TRIGGER full"


def links(store: Store) -> tuple[Link, ...]:
    """The whole trail."""
    with store.read() as session:
        return tuple(links_after(session, 0))


def said(store: Store, *names: str, after: int = 0) -> list[tuple[object, ...]]:
    """Some columns of the rows after a place."""
    return [tuple(getattr(one, name) for name in names) for one in links(store)[after:]]


def run_plainly(store: Store, statement: str) -> None:
    """Run a statement that is none of ours."""
    with store.write() as session:
        session.run(text(statement))


def tamper(store: Store, *statements: str, **values: object) -> None:
    """Change a trail as somebody with the database in hands does: the guard goes first."""
    with store.write() as session:
        for statement in (*OFF_GUARD[session.engine_name], *statements):
            session.run(text(statement), values)
