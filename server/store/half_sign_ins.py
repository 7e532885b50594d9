"""Sign-ins that wait for a code: who was recognised a moment ago, by a secret's hash."""

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import delete, insert, select

from server.store.sessions import ReadSession, WriteSession
from server.store.tables import HALF_SIGN_IN


@dataclass(frozen=True, slots=True)
class StoredHalf:
    """Who was recognised; `id_token` is the provider's word for it, empty after a password."""

    staff_id: str
    id_token: str


def add_half(session: WriteSession, secret_hash: str, half: StoredHalf, at: datetime) -> None:
    """Keep that somebody was recognised, and the provider's word sealed."""
    token = half.id_token
    session.run(
        insert(HALF_SIGN_IN),
        {
            "hash": secret_hash,
            "staff_id": half.staff_id,
            "sealed": session.vault.seal(token, _about(secret_hash)) if token else "",
            "begun_at": at,
        },
    )


def read_half(session: ReadSession, secret_hash: str, since: datetime) -> StoredHalf | None:
    """Whoever was recognised after `since`, None for nobody."""
    half = HALF_SIGN_IN.c
    begun = select(half.staff_id, half.sealed)
    row = session.row(begun.where(half.hash == secret_hash, half.begun_at > since))
    if row is None:
        return None
    sealed = row.sealed
    return StoredHalf(
        row.staff_id, session.vault.open(sealed, _about(secret_hash)) if sealed else ""
    )


def forget_half(session: WriteSession, secret_hash: str) -> None:
    """End one: the code was shown."""
    session.run(delete(HALF_SIGN_IN).where(HALF_SIGN_IN.c.hash == secret_hash))


def forget_halves_of(session: WriteSession, staff_id: str) -> None:
    """End all of somebody."""
    session.run(delete(HALF_SIGN_IN).where(HALF_SIGN_IN.c.staff_id == staff_id))


def forget_halves(session: WriteSession, before: datetime) -> None:
    """Delete those that nobody went on with."""
    session.run(delete(HALF_SIGN_IN).where(HALF_SIGN_IN.c.begun_at < before))


def _about(secret_hash: str) -> str:
    return f"half_sign_in {secret_hash}"
