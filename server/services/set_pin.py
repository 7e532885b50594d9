"""The PIN of a member of staff: set by themselves, known to nobody else."""

from datetime import datetime
from typing import Final

from server.domain.audit import AuditAct
from server.domain.pins import require_pin
from server.services.actor import Actor
from server.services.audit import note
from server.services.board_key import BoardKey
from server.services.errors import Forbidden
from server.services.passwords import hash_password, password_fits
from server.store.badges import pin_of, save_pin
from server.store.sessions import ReadSession, WriteSession

PURPOSE: Final = "pin"


def set_pin(session: WriteSession, key: BoardKey, actor: Actor, pin: str, *, now: datetime) -> None:
    """Set one's own PIN. The caller has asked for the password just now.

    Raises `Forbidden` for a program, `Invalid("pin", …)` for one that is too short or weak.
    """
    if actor.staff_id is None:
        raise Forbidden("a program has no PIN")
    require_pin(pin)
    save_pin(session, actor.staff_id, hash_password(_keyed(key, actor.staff_id, pin)), now)
    note(session, actor, AuditAct.PIN_SET, now=now)


def pin_set_at(session: ReadSession, actor: Actor) -> datetime | None:
    """Answer since when one has the present PIN, None without one."""
    kept = pin_of(session, actor.id)
    return None if kept is None else kept[1]


def pin_fits(session: ReadSession, key: BoardKey, staff_id: str | None, pin: str) -> bool:
    """Whether it is the PIN; takes as long for somebody who does not exist or has none."""
    kept = None if staff_id is None else pin_of(session, staff_id)
    return password_fits(None if kept is None else kept[0], _keyed(key, staff_id or "", pin))


def _keyed(key: BoardKey, staff_id: str, pin: str) -> str:
    return key.digest(PURPOSE, staff_id, pin)
