"""A device that many share, in few words: who shows what, and what the audit trail says of it."""

from dataclasses import replace
from datetime import datetime
from typing import Final

from server.services.actor import Actor
from server.services.badges import record_badge
from server.services.board_key import BoardKey
from server.services.enter_staff import enter_staff
from server.services.set_pin import set_pin
from server.services.sign_in import Holder, holder_of_session, sign_in
from server.store.audit import links_after
from server.store.staff import Staff
from tests.domain.builders import at
from tests.services.charting import Charting
from tests.services.people import ADMINISTRATOR, staff_draft

KEY: Final = BoardKey(b"k" * 32)
PASSWORD: Final = "correct horse"
PIN: Final = "480251"
GSRN: Final = "8017735005385000000011"


def with_password(charting: Charting, person: Actor, *, minute: float = 0) -> Staff:
    """Somebody who signs in under their id."""
    draft = replace(staff_draft(person), sign_in_name=person.id, password=PASSWORD)
    with charting.store.write() as session:
        return enter_staff(session, ADMINISTRATOR, draft, now=at(minute))


def with_badge(charting: Charting, person: Actor, scan: str = GSRN, *, pin: str = PIN) -> None:
    """Somebody whose badge is recorded and who has set a PIN."""
    with charting.store.write() as session:
        record_badge(session, KEY, ADMINISTRATOR, person.id, scan, now=at(0))
        set_pin(session, KEY, person, pin, now=at(0))


def signed_in(charting: Charting, staff: Staff, minute: float = 0, device: str = "desk") -> str:
    """The secret of a new session."""
    with charting.store.write() as session:
        return sign_in(session, staff, now=at(minute), device=device).secret


def holder(charting: Charting, secret: str, now: datetime, **asked: object) -> Holder | None:
    """Who holds a session at an instant."""
    with charting.store.read() as session:
        return holder_of_session(session, secret, now=now, **asked)  # type: ignore[arg-type]


def noted(charting: Charting, *acts: str) -> list[tuple[str, str, str | None]]:
    """Who did what to whom, of these acts, in their order."""
    with charting.store.read() as session:
        links = list(links_after(session, 0))
    return [(one.actor_id, one.act, one.subject_id) for one in links if one.act in acts]
