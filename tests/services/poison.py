"""Facts that nobody can read or follow, written past the program."""

from typing import Final

import pytest
from sqlalchemy import text

from server.services.open_check import open_check
from server.store.store import Store
from tests.domain.builders import at
from tests.services.charting import Charting
from tests.services.people import COLLEAGUE

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
ASKED: Final = "asked for: "
"""Before what is set in the row of a request, not of a fact."""
DAMAGED_REQUEST: Final = f"{ASKED}component = 'blood', priority = 'now', requirements = '5'"
KINDS: Final = {
    "unread": CANNOT_BE_READ,
    "unfollowed": CANNOT_BE_FOLLOWED,
    "not worked out": CANNOT_BE_WORKED_OUT,
    "asked for": DAMAGED_REQUEST,
}
EVERY_KIND: Final = pytest.mark.parametrize("setting", KINDS.values(), ids=KINDS)
DAMAGED_ORDERS: Final = "UPDATE blood_order SET component = 'blood', requirements = '5'"
SOUND: Final = "kind = 'issued', payload = '{}'"
SOUND_REQUEST: Final = (
    f"{ASKED}component = 'red_cells', priority = 'routine', requirements = '[]', volume_ml = 280"
)


def tamper(store: Store, setting: str, episode_id: str = "e1") -> None:
    """Change the issue of a unit, what became of it, or its request, past the program."""
    if setting.startswith(ASKED):
        asked = setting.removeprefix(ASKED)
        write_past(store, f"UPDATE episode SET {asked} WHERE id = '{episode_id}'")  # noqa: S608 - a test's own
        return
    row = f"episode_id = '{episode_id}' AND kind IN ('issued', 'completed', 'blessed')"
    write_past(store, f"UPDATE event SET {setting} WHERE {row}")  # noqa: S608 - a test's own


def mend(store: Store, episode_id: str = "e1") -> None:
    """Set right what `tamper` changed of a unit that was asked for and issued plainly."""
    for setting in (SOUND, SOUND_REQUEST):
        tamper(store, setting, episode_id)


def write_past(store: Store, statement: str) -> None:
    """Write past the program: what guards the log is passed over, as by whoever has the file."""
    guards = {
        "sqlite": [
            f"DROP TRIGGER IF EXISTS {table}_no_{act}"
            for table in ("event", "episode", "blood_order")
            for act in ("update", "delete")
        ],
        "postgresql": ["SET LOCAL session_replication_role = replica"],
    }
    with store.write() as session:
        for one in (*guards[session.engine_name], statement):
            session.run(text(one))


def three_units(charting: Charting) -> None:
    """`e1`, `e2` and `e3` of two patients run from 10 min, the nurse's; two of them late.

    An identity check of `e4` waits for the second person.
    """
    for number, patient in ((1, "p1"), (2, "p2"), (3, "p1")):
        charting.run(f"e{number}", patient, bed=f"{number}", nurse_id="nurse-1")
    charting.open("e4", "p2", bed="4")
    charting.issue("e4", minute=100)
    with charting.store.write() as session:
        open_check(session, COLLEAGUE, "e4", now=at(119))
    charting.tick(119)
