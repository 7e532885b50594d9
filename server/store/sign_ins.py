"""Who is signed in: sessions by the hash of their secret."""

from datetime import datetime
from typing import Final

from sqlalchemy import bindparam, delete, insert, select, update

from server.store.sessions import ReadSession, WriteSession
from server.store.tables import SESSION, STAFF

_VALID: Final = (
    select(SESSION.c.staff_id)
    .join_from(SESSION, STAFF, STAFF.c.id == SESSION.c.staff_id)
    .where(
        SESSION.c.hash == bindparam("session_hash"),
        SESSION.c.expires_at > bindparam("at", type_=SESSION.c.expires_at.type),
        STAFF.c.active,
    )
)


def open_session(
    session: WriteSession, session_hash: str, staff_id: str, *, at: datetime, expires_at: datetime
) -> None:
    """Keep that somebody signed in."""
    row = {"hash": session_hash, "staff_id": staff_id, "made_at": at, "expires_at": expires_at}
    session.run(insert(SESSION), row)


def signed_in(session: ReadSession, session_hash: str, at: datetime) -> str | None:
    """The id of the active member of staff behind a session that has not expired."""
    staff_id: str | None = session.value(_VALID, {"session_hash": session_hash, "at": at})
    return staff_id


def extend_session(session: WriteSession, session_hash: str, expires_at: datetime) -> None:
    """Let a session live longer."""
    session.run(update(SESSION).where(SESSION.c.hash == session_hash).values(expires_at=expires_at))


def close_session(session: WriteSession, session_hash: str) -> None:
    """Sign out."""
    session.run(delete(SESSION).where(SESSION.c.hash == session_hash))


def close_sessions_of(session: WriteSession, staff_id: str) -> None:
    """Sign somebody out everywhere."""
    session.run(delete(SESSION).where(SESSION.c.staff_id == staff_id))


def forget_expired_sessions(session: WriteSession, at: datetime) -> None:
    """Delete the sessions that have expired."""
    session.run(delete(SESSION).where(SESSION.c.expires_at <= at))
