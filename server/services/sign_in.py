"""Sign in by name and password, stay signed in by a secret, sign out."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from server.services.actor import Actor
from server.services.passwords import hash_secret, new_secret, password_fits
from server.store.sessions import ReadSession, WriteSession
from server.store.sign_ins import (
    close_session,
    forget_expired_sessions,
    open_session,
    signed_in,
)
from server.store.staff import Staff, read_staff, staff_named

SESSION_LENGTH: Final = timedelta(hours=13)


@dataclass(frozen=True, slots=True)
class SignedIn:
    """Somebody signed in; `secret` goes into their browser and is never shown again."""

    secret: str
    actor: Actor
    expires_at: datetime


def check_password(session: ReadSession, sign_in_name: str, password: str) -> Staff | None:
    """Answer whose name and password these are; None says nothing about which was wrong."""
    named = staff_named(session, sign_in_name)
    fits = password_fits(named[1] if named else None, password)
    return named[0] if named and fits and named[0].active else None


def sign_in(
    session: WriteSession, staff: Staff, *, now: datetime, length: timedelta = SESSION_LENGTH
) -> SignedIn:
    """Open a session for somebody whose password was checked."""
    forget_expired_sessions(session, now)
    secret = new_secret()
    expires_at = now + length
    open_session(session, hash_secret(secret), staff.id, at=now, expires_at=expires_at)
    return SignedIn(secret, actor_of(staff), expires_at)


def actor_of_session(session: ReadSession, secret: str, *, now: datetime) -> Actor | None:
    """Answer who holds a session, None if it has ended."""
    staff_id = signed_in(session, hash_secret(secret), now)
    staff = None if staff_id is None else read_staff(session, staff_id)
    return None if staff is None else actor_of(staff)


def sign_out(session: WriteSession, secret: str) -> None:
    """End a session."""
    close_session(session, hash_secret(secret))


def actor_of(staff: Staff) -> Actor:
    """A member of staff as an actor."""
    return Actor(staff.id, staff.name, staff.role, staff.wards, staff_id=staff.id)
