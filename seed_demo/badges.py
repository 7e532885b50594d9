"""Badges and a PIN for everybody who can sign in on the invented ward."""

from datetime import datetime
from typing import Final

from seed_demo.staff import EVERYBODY, SET_UP, Person
from server.services.badges import record_badge
from server.services.board_key import BoardKey
from server.services.set_pin import set_pin
from server.store.store import Store

PIN: Final = "480251"
"""Of every account of the demonstration, and of no other database."""

SIGN_IN: Final = tuple(person for person in EVERYBODY if person.sign_in_name)


def badge_of(person: Person) -> str:
    """Answer what is printed on somebody's badge, `LW-101` and on."""
    return f"LW-{101 + SIGN_IN.index(person)}"


def give_badges(store: Store, key: BoardKey, *, now: datetime) -> None:
    """Record a badge for each of them, and set their PIN."""
    with store.write() as session:
        for person in SIGN_IN:
            record_badge(session, key, SET_UP, person.id, badge_of(person), now=now)
            set_pin(session, key, person.actor, PIN, now=now)
