"""Sign-ins that wait for a code: who gave a right password a moment ago, by a secret's hash."""

from datetime import datetime

from sqlalchemy import delete, insert, select

from server.store.sessions import ReadSession, WriteSession
from server.store.tables import HALF_SIGN_IN


def add_half(session: WriteSession, secret_hash: str, staff_id: str, at: datetime) -> None:
    """Keep that somebody gave a right password."""
    session.run(insert(HALF_SIGN_IN), {"hash": secret_hash, "staff_id": staff_id, "begun_at": at})


def staff_of_half(session: ReadSession, secret_hash: str, since: datetime) -> str | None:
    """The id of whoever gave a right password after `since`, None for nobody."""
    half = HALF_SIGN_IN.c
    begun = select(half.staff_id).where(half.hash == secret_hash, half.begun_at > since)
    staff_id: str | None = session.value(begun)
    return staff_id


def forget_half(session: WriteSession, secret_hash: str) -> None:
    """End one: the code was shown."""
    session.run(delete(HALF_SIGN_IN).where(HALF_SIGN_IN.c.hash == secret_hash))


def forget_halves(session: WriteSession, before: datetime) -> None:
    """Delete those that nobody went on with."""
    session.run(delete(HALF_SIGN_IN).where(HALF_SIGN_IN.c.begun_at < before))
