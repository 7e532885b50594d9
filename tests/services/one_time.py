"""Second factors in few words: begun, confirmed, and codes as an app shows them."""

from datetime import datetime

from pyotp import TOTP

from server.services.actor import Actor
from server.services.half_sign_in import use_code
from server.services.second_factor import (
    begin_second_factor,
    confirm_second_factor,
    read_factor,
)
from server.store.store import Store
from tests.domain.builders import at
from tests.services.people import MANAGER, staff_of


def code_at(secret: str, now: datetime) -> str:
    """What an app shows."""
    return TOTP(secret).at(now)


def begun(store: Store, person: Actor = MANAGER, *, minute: float = 0) -> str:
    """Begin a second factor; its secret."""
    with store.write() as session:
        begin_second_factor(session, person, now=at(minute))
        return read_factor(session, person.id, now=at(minute)).begun


def confirmed(store: Store, person: Actor = MANAGER) -> tuple[str, tuple[str, ...]]:
    """Set a second factor up at the base instant; its secret and the recovery codes."""
    secret = begun(store, person)
    with store.write() as session:
        codes = confirm_second_factor(session, person, code_at(secret, at(0)), now=at(0))
    return secret, codes


def used(store: Store, code: str, now: datetime, person: Actor = MANAGER) -> bool:
    """Show a code in signing in."""
    with store.write() as session:
        return use_code(session, staff_of(person), code, now=now)


def standing(store: Store, person: Actor = MANAGER) -> tuple[datetime | None, int]:
    """Since when somebody has a second factor, and how many recovery codes are left."""
    with store.read() as session:
        read = read_factor(session, person.id, now=at(0))
    return read.set_at, read.codes_left
