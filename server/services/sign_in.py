"""Sign in by name and password, stay signed in by a secret, sign out."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Final

from server.domain.audit import AuditAct, Plain, Subject, SubjectKind
from server.services.actor import Actor
from server.services.audit import note
from server.services.passwords import hash_secret, new_secret, password_fits
from server.store.ids import new_id
from server.store.sessions import ReadSession, WriteSession
from server.store.sign_ins import (
    OpenSession,
    close_session,
    forget_expired_sessions,
    hashes_of_open_sessions,
    open_session,
    session_of_hash,
    sessions_of_hashes,
)
from server.store.staff import Staff, read_staff, staff_named, staff_of_ids

SESSION_LENGTH: Final = timedelta(hours=13)
LONGEST_DEVICE: Final = 80

NOTED_EVERY: Final = timedelta(minutes=1)
"""An act is kept this often at most; an idle session locks so much later than it is told to."""


@dataclass(frozen=True, slots=True)
class SignedIn:
    """Somebody signed in; `secret` goes into their browser and is never shown again."""

    secret: str
    actor: Actor
    expires_at: datetime


@dataclass(frozen=True, slots=True)
class Holder:
    """Who holds a session. `locks_at` is when it locks unless they act, None: never."""

    actor: Actor
    session: OpenSession
    locks_at: datetime | None
    locked: bool


def check_password(session: ReadSession, sign_in_name: str, password: str) -> Staff | None:
    """Answer whose name and password these are; None says nothing about which was wrong."""
    named = staff_named(session, sign_in_name)
    fits = password_fits(named[1] if named else None, password)
    return named[0] if named and fits and named[0].active else None


def sign_in(
    session: WriteSession,
    staff: Staff,
    *,
    now: datetime,
    length: timedelta = SESSION_LENGTH,
    device: str = "",
    way: str = "",
) -> SignedIn:
    """Open a session for somebody who was recognised. `device` says in words where it is.

    `way` is how they were, where it was not here.
    """
    opened = _open(session, staff, now, length, device)
    note(session, opened.actor, AuditAct.SIGNED_IN, now=now, detail=_told(way))
    return opened


def change_person(
    session: WriteSession,
    secret: str,
    staff: Staff,
    *,
    now: datetime,
    length: timedelta = SESSION_LENGTH,
    device: str = "",
    way: str = "",
) -> SignedIn:
    """Open a session in place of the one on a device, which ends.

    Without one it is a plain sign-in.
    """
    left = holder_of_session(session, secret, now=now) if secret else None
    if left is None:
        return sign_in(session, staff, now=now, length=length, device=device, way=way)
    close_session(session, hash_secret(secret))
    opened = _open(session, staff, now, length, device)
    whose = Subject(SubjectKind.STAFF, left.actor.id)
    note(session, opened.actor, AuditAct.PERSON_CHANGED, whose, now=now, detail=_told(way))
    return opened


def holder_of_session(
    session: ReadSession, secret: str, *, now: datetime, lock_after: timedelta = timedelta(0)
) -> Holder | None:
    """Answer who holds a session and whether it is locked, None if it has ended.

    `lock_after` is how long somebody may do nothing before it locks; zero: as long as they like.
    """
    found = session_of_hash(session, hash_secret(secret), now)
    staff = None if found is None else read_staff(session, found.staff_id)
    return None if found is None or staff is None else _holder(found, staff, now, lock_after)


def holders_of_sessions(
    session: ReadSession,
    secrets: Iterable[str],
    *,
    now: datetime,
    lock_after: timedelta = timedelta(0),
) -> dict[str, Holder]:
    """Answer the same of many sessions, by secret, in few queries; what ended is left out."""
    hashes = {secret: hash_secret(secret) for secret in secrets}
    found = sessions_of_hashes(session, hashes.values(), now)
    staff = staff_of_ids(session, {one.staff_id for one in found.values()})
    return {
        secret: _holder(found[hashed], staff[found[hashed].staff_id], now, lock_after)
        for secret, hashed in hashes.items()
        if hashed in found
    }


def closed_among(session: ReadSession, secrets: Iterable[str]) -> tuple[str, ...]:
    """Answer which of these secrets open nothing now: their session was ended or locked.

    Sessions end with a role or ward that is given or taken away, too.
    """
    still_open = hashes_of_open_sessions(session)
    return tuple(secret for secret in secrets if hash_secret(secret) not in still_open)


def _holder(opened: OpenSession, staff: Staff, now: datetime, lock_after: timedelta) -> Holder:
    locks_at = opened.seen_at + lock_after + NOTED_EVERY if lock_after else None
    is_idle = locks_at is not None and now >= locks_at
    locked = opened.locked_at is not None or is_idle
    return Holder(replace(actor_of(staff), access_id=opened.id), opened, locks_at, locked)


def sign_out(session: WriteSession, secret: str, *, now: datetime) -> None:
    """End a session."""
    left = holder_of_session(session, secret, now=now)
    close_session(session, hash_secret(secret))
    if left is not None:
        note(session, left.actor, AuditAct.SIGNED_OUT, now=now)


def actor_of(staff: Staff) -> Actor:
    """A member of staff as an actor."""
    return Actor(staff.id, staff.name, staff.role, staff.wards, staff_id=staff.id)


def _told(way: str) -> dict[str, Plain]:
    return {"way": way} if way else {}


def _open(
    session: WriteSession, staff: Staff, now: datetime, length: timedelta, device: str
) -> SignedIn:
    forget_expired_sessions(session, now)
    secret, expires_at = new_secret(), now + length
    words = device[:LONGEST_DEVICE]
    opened = OpenSession(new_id(), staff.id, words, now, now, expires_at)
    open_session(session, opened, hash_secret(secret))
    return SignedIn(secret, replace(actor_of(staff), access_id=opened.id), expires_at)
