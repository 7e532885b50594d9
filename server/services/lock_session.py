"""Lock the screen of somebody who has left it, and unlock it for them alone."""

from datetime import datetime

from server.domain.audit import AuditAct
from server.services.audit import note
from server.services.passwords import hash_secret, new_secret
from server.services.sign_in import NOTED_EVERY, Holder, holder_of_session
from server.store.sessions import WriteSession
from server.store.sign_ins import lock_session, note_seen, renew_session


def lock(session: WriteSession, secret: str, *, now: datetime) -> None:
    """Lock a session, unless it is locked or has ended."""
    holder = holder_of_session(session, secret, now=now)
    if holder is not None and lock_session(session, hash_secret(secret), now):
        note(session, holder.actor, AuditAct.LOCKED, now=now)


def unlock(session: WriteSession, secret: str, *, now: datetime) -> str | None:
    """Unlock a session for the person it belongs to, who was recognised just now.

    Answers the secret it has from now on, None if it has ended.
    """
    holder = holder_of_session(session, secret, now=now)
    if holder is None:
        return None
    renewed = new_secret()
    renew_session(session, hash_secret(secret), hash_secret(renewed), now)
    if holder.session.locked_at is not None:
        note(session, holder.actor, AuditAct.UNLOCKED, now=now)
    return renewed


def is_worth_noting(holder: Holder, *, now: datetime) -> bool:
    """Whether the last act that is kept is old enough to be replaced by one of now."""
    return not holder.locked and now - holder.session.seen_at >= NOTED_EVERY


def note_act(session: WriteSession, secret: str, *, now: datetime) -> None:
    """Keep that somebody did something just now."""
    note_seen(session, hash_secret(secret), now)
