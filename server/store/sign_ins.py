"""Who is signed in where: sessions by the hash of their secret."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from sqlalchemy import bindparam, delete, insert, select, update

from server.store.half_sign_ins import forget_halves_of
from server.store.sessions import ReadSession, WriteSession
from server.store.statements import IDS, columns_for, in_chunks, one_of, values_of
from server.store.tables import SESSION, STAFF


@dataclass(frozen=True, slots=True)
class OpenSession:
    """Somebody signed in on a device since `made_at`; `seen_at` is their last act there.

    `device` says in words which device it is. `locked_at` is since when the screen is locked.
    """

    id: str
    staff_id: str
    device: str
    made_at: datetime
    seen_at: datetime
    expires_at: datetime
    locked_at: datetime | None = None


_OPEN: Final = (
    select(*columns_for(SESSION, OpenSession))
    .join_from(SESSION, STAFF, STAFF.c.id == SESSION.c.staff_id)
    .where(SESSION.c.expires_at > bindparam("at", type_=SESSION.c.expires_at.type), STAFF.c.active)
)
_OF_HASH: Final = _OPEN.where(SESSION.c.hash == bindparam("session_hash"))
_OF_HASHES: Final = _OPEN.add_columns(SESSION.c.hash).where(one_of(SESSION.c.hash))
_UNLOCKED: Final = "SELECT hash FROM session WHERE locked_at IS NULL"
_OF_STAFF: Final = _OPEN.where(SESSION.c.staff_id == bindparam("staff_id")).order_by(
    SESSION.c.seen_at.desc(), SESSION.c.id
)


def open_session(session: WriteSession, opened: OpenSession, session_hash: str) -> None:
    """Keep that somebody signed in."""
    session.run(insert(SESSION), values_of(opened) | {"hash": session_hash})


def session_of_hash(session: ReadSession, session_hash: str, at: datetime) -> OpenSession | None:
    """The session behind a hash, None if it has expired or its person is not active any more."""
    row = session.row(_OF_HASH, {"session_hash": session_hash, "at": at})
    return None if row is None else OpenSession(*row)


def sessions_of_hashes(
    session: ReadSession, hashes: Iterable[str], at: datetime
) -> dict[str, OpenSession]:
    """The same of many hashes, by hash; what has ended is left out."""
    return {
        row.hash: OpenSession(*row[:-1])
        for chunk in in_chunks(sorted(set(hashes)))
        for row in session.rows(_OF_HASHES, {IDS: chunk, "at": at})
    }


def hashes_of_open_sessions(session: ReadSession) -> frozenset[str]:
    """The hashes of all sessions that nobody has ended or locked, some of them expired.

    One plain question, cheap enough to be asked all the time.
    """
    return frozenset(row[0] for row in session.plain(_UNLOCKED))


def sessions_of(session: ReadSession, staff_id: str, at: datetime) -> tuple[OpenSession, ...]:
    """The sessions of a member of staff that have not expired, the last used first."""
    rows = session.rows(_OF_STAFF, {"staff_id": staff_id, "at": at})
    return tuple(OpenSession(*row) for row in rows)


def note_seen(session: WriteSession, session_hash: str, at: datetime) -> None:
    """Keep the instant of somebody's last act."""
    session.run(update(SESSION).where(SESSION.c.hash == session_hash).values(seen_at=at))


def lock_session(session: WriteSession, session_hash: str, at: datetime) -> bool:
    """Lock a session; False if it was locked, or has ended."""
    unlocked = update(SESSION).where(SESSION.c.hash == session_hash, SESSION.c.locked_at.is_(None))
    return session.run(unlocked.values(locked_at=at)) == 1


def renew_session(session: WriteSession, session_hash: str, new_hash: str, at: datetime) -> None:
    """Unlock a session, from now on under another secret."""
    renewed = update(SESSION).where(SESSION.c.hash == session_hash)
    session.run(renewed.values(hash=new_hash, seen_at=at, locked_at=None))


def close_session(session: WriteSession, session_hash: str) -> None:
    """Sign out."""
    session.run(delete(SESSION).where(SESSION.c.hash == session_hash))


def close_session_named(session: WriteSession, staff_id: str, session_id: str) -> bool:
    """End one session of a member of staff; False if they have none of that id."""
    named = delete(SESSION).where(SESSION.c.staff_id == staff_id, SESSION.c.id == session_id)
    return session.run(named) == 1


def close_sessions_of(session: WriteSession, staff_id: str, *, but: str = "") -> int:
    """Sign somebody out everywhere, except for the session of the id `but`; how many ended.

    A sign-in that waits for a code ends too.
    """
    forget_halves_of(session, staff_id)
    theirs = delete(SESSION).where(SESSION.c.staff_id == staff_id, SESSION.c.id != but)
    return session.run(theirs)


def forget_expired_sessions(session: WriteSession, at: datetime) -> None:
    """Delete the sessions that have expired."""
    session.run(delete(SESSION).where(SESSION.c.expires_at <= at))
