"""Facts that nobody can read or follow, written past the program."""

from typing import Final

from sqlalchemy import text

from server.store.store import Store

POISON: Final = {
    "no JSON": "payload = 'no JSON'",
    "not an object": "payload = '[]'",
    "nothing": "payload = 'null'",
    "a field nobody knows": """payload = '{"colour":"red"}'""",
    "an impossible value": """payload = '{"volume_ml":-5}'""",
    "an unknown kind": "kind = 'blessed'",
    "no instant": "happened_at = 'yesterday'",
    "another kind": "kind = 'completed', payload = '{}'",
}
"""What is set in the row of an issue. Only a file takes what is no JSON or no instant."""

CANNOT_BE_READ: Final = POISON["a field nobody knows"]
CANNOT_BE_FOLLOWED: Final = POISON["another kind"]
CANNOT_BE_WORKED_OUT: Final = """payload = '{"removed_at":"9999-12-31T23:59:00Z"}'"""
KINDS: Final = {
    "unread": CANNOT_BE_READ,
    "unfollowed": CANNOT_BE_FOLLOWED,
    "not worked out": CANNOT_BE_WORKED_OUT,
}
SOUND: Final = "kind = 'issued', payload = '{}'"

_UNGUARD: Final = {
    "sqlite": "DROP TRIGGER IF EXISTS event_no_update",
    "postgresql": "ALTER TABLE event DISABLE TRIGGER USER",
}


def tamper(store: Store, setting: str, episode_id: str = "e1") -> None:
    """Change the issue of a unit, or what became of it, behind the product's back."""
    row = f"episode_id = '{episode_id}' AND kind IN ('issued', 'completed', 'blessed')"
    with store.write() as session:
        session.run(text(_UNGUARD[session.engine_name]))
        session.run(text(f"UPDATE event SET {setting} WHERE {row}"))  # noqa: S608 - a test's own


def write_past(store: Store, statement: str) -> None:
    """Write past the program: what guards the log is passed over, as by whoever has the file."""
    guards = {
        "sqlite": [f"DROP TRIGGER IF EXISTS event_no_{act}" for act in ("update", "delete")],
        "postgresql": ["SET LOCAL session_replication_role = replica"],
    }
    with store.write() as session:
        for one in (*guards[session.engine_name], statement):
            session.run(text(one))
