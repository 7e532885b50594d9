"""Sign in by name and password, stay signed in by a secret, sign out."""

from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Final

from server.domain.audit import AuditAct, Subject, SubjectKind
from server.services.actor import Actor
from server.services.audit import note
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
# Enough of the hash to tell sessions apart; the hash itself opens nothing either.
ACCESS_ID_LENGTH: Final = 16


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
    session_hash = hash_secret(secret)
    open_session(session, session_hash, staff.id, at=now, expires_at=expires_at)
    actor = _actor_within(staff, session_hash)
    note(session, actor, AuditAct.SIGNED_IN, now=now)
    return SignedIn(secret, actor, expires_at)


def note_failed_sign_in(session: WriteSession, sign_in_name: str, *, now: datetime) -> None:
    """Note a try that failed, and whose name it was; what was typed is kept nowhere."""
    named = staff_named(session, sign_in_name)
    subject = Subject(SubjectKind.STAFF, named[0].id if named else None)
    note(session, None, AuditAct.SIGN_IN_FAILED, subject, now=now)


def actor_of_session(session: ReadSession, secret: str, *, now: datetime) -> Actor | None:
    """Answer who holds a session, None if it has ended."""
    session_hash = hash_secret(secret)
    staff_id = signed_in(session, session_hash, now)
    staff = None if staff_id is None else read_staff(session, staff_id)
    return None if staff is None else _actor_within(staff, session_hash)


def sign_out(session: WriteSession, secret: str, *, now: datetime) -> None:
    """End a session."""
    actor = actor_of_session(session, secret, now=now)
    close_session(session, hash_secret(secret))
    if actor is not None:
        note(session, actor, AuditAct.SIGNED_OUT, now=now)


def actor_of(staff: Staff) -> Actor:
    """A member of staff as an actor."""
    return Actor(staff.id, staff.name, staff.role, staff.wards, staff_id=staff.id)


def _actor_within(staff: Staff, session_hash: str) -> Actor:
    return replace(actor_of(staff), access_id=session_hash[:ACCESS_ID_LENGTH])
