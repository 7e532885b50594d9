"""Failed sign-ins, shared by all processes, and the devices that an account is known on."""

from datetime import datetime

from sqlalchemy import delete, select

from server.domain.tries import Tries
from server.store.sessions import ReadSession, WriteSession
from server.store.statements import upsert
from server.store.tables import KNOWN_DEVICE, SIGN_IN_TRY


def read_tries(session: ReadSession, subject: str) -> Tries | None:
    """How often a subject has failed, None if it has not."""
    columns = (SIGN_IN_TRY.c.failed, SIGN_IN_TRY.c.last_at)
    row = session.row(select(*columns).where(SIGN_IN_TRY.c.subject == subject))
    return None if row is None else Tries(*row)


def save_tries(session: WriteSession, subject: str, tries: Tries) -> None:
    """Keep how often a subject has failed."""
    row = {"subject": subject, "failed": tries.failed, "last_at": tries.last_at}
    session.run(upsert(session.engine_name, SIGN_IN_TRY.name), row)


def forget_tries(session: WriteSession, subject: str) -> None:
    """Begin anew: the subject has signed in."""
    session.run(delete(SIGN_IN_TRY).where(SIGN_IN_TRY.c.subject == subject))


def forget_tries_before(session: WriteSession, before: datetime) -> None:
    """Delete the tries of before an instant."""
    session.run(delete(SIGN_IN_TRY).where(SIGN_IN_TRY.c.last_at < before))


def is_known_device(session: ReadSession, device_hash: str, staff_id: str) -> bool:
    """Whether somebody has signed in on a device before."""
    known = select(KNOWN_DEVICE.c.staff_id).where(
        KNOWN_DEVICE.c.device_hash == device_hash, KNOWN_DEVICE.c.staff_id == staff_id
    )
    return session.value(known) is not None


def is_known_to_anybody(session: ReadSession, device_hash: str) -> bool:
    """Whether anybody has signed in on a device before."""
    known = select(KNOWN_DEVICE.c.staff_id).where(KNOWN_DEVICE.c.device_hash == device_hash)
    return session.value(known.limit(1)) is not None


def know_device(session: WriteSession, device_hash: str, staff_id: str, at: datetime) -> None:
    """Keep that somebody signed in on a device."""
    row = {"device_hash": device_hash, "staff_id": staff_id, "last_at": at}
    session.run(upsert(session.engine_name, KNOWN_DEVICE.name), row)


def forget_devices(session: WriteSession, before: datetime) -> None:
    """Delete the devices on which nobody has signed in since an instant."""
    session.run(delete(KNOWN_DEVICE).where(KNOWN_DEVICE.c.last_at < before))
