"""Where somebody is signed in, and how that is ended: by themselves, or by an administrator."""

from datetime import datetime

from server.domain.audit import AuditAct, Subject, SubjectKind
from server.services.actor import Actor
from server.services.audit import note
from server.services.enter_staff import read_staff
from server.services.errors import NotFound
from server.services.permissions import Act, require
from server.store.sessions import ReadSession, WriteSession
from server.store.sign_ins import (
    OpenSession,
    close_session_named,
    close_sessions_of,
    sessions_of,
)


def list_own_sessions(
    session: ReadSession, actor: Actor, *, now: datetime
) -> tuple[OpenSession, ...]:
    """Answer where one is signed in, the last used first."""
    return sessions_of(session, actor.id, now)


def end_own_session(session: WriteSession, actor: Actor, session_id: str, *, now: datetime) -> None:
    """Sign out on another device. Raises `NotFound`."""
    if not close_session_named(session, actor.id, session_id):
        raise NotFound("the session")
    note(session, actor, AuditAct.SESSION_ENDED, Subject(SubjectKind.SESSION, session_id), now=now)


def end_other_sessions(session: WriteSession, actor: Actor, *, now: datetime) -> int:
    """Sign out everywhere but where one is; how many sessions ended."""
    ended = close_sessions_of(session, actor.id, but=actor.access_id or "")
    note(session, actor, AuditAct.SESSION_ENDED, now=now, detail={"sessions": ended})
    return ended


def list_sessions_of(
    session: ReadSession, actor: Actor, staff_id: str, *, now: datetime
) -> tuple[OpenSession, ...]:
    """Answer where a member of staff is signed in, to an administrator. Raises `Forbidden`."""
    require(actor, Act.SET_UP)
    read_staff(session, actor, staff_id)
    return sessions_of(session, staff_id, now)


def end_sessions_of(session: WriteSession, actor: Actor, staff_id: str, *, now: datetime) -> int:
    """Sign a member of staff out everywhere; how many sessions ended.

    Raises `Forbidden`, `NotFound`.
    """
    require(actor, Act.SET_UP)
    read_staff(session, actor, staff_id)
    ended = close_sessions_of(session, staff_id)
    whose = Subject(SubjectKind.STAFF, staff_id)
    note(session, actor, AuditAct.SESSION_ENDED, whose, now=now, detail={"sessions": ended})
    return ended
