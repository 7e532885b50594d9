"""Link the account of a member of staff at the provider, undo it, and find whose an account is.

Nobody is entered by signing in: an account opens something only where somebody linked it, the
person themselves, signed in otherwise, or an administrator by what it is called.
"""

from dataclasses import replace
from datetime import datetime

from server.domain.audit import AuditAct, Subject, SubjectKind
from server.domain.errors import Invalid
from server.domain.sign_on import LONGEST, Identity, SignOn
from server.services.actor import Actor
from server.services.audit import note
from server.services.enter_staff import require_all_of
from server.services.errors import Conflict, NotFound
from server.services.permissions import Act, may
from server.store import sso as stored
from server.store.sessions import ReadSession, WriteSession
from server.store.sign_ins import close_sessions_of
from server.store.sso import Link
from server.store.staff import Staff
from server.store.staff import read_staff as stored_staff

TAKEN = "that account is linked to somebody else; undo it there first"


def enter_link(
    session: WriteSession,
    actor: Actor,
    sign_on: SignOn | None,
    staff_id: str,
    typed: str,
    *,
    now: datetime,
) -> Link:
    """Enter what somebody's account at the provider is called, in place of the one before.

    Whoever comes with it first is that person; whoever came by the one before is signed out.
    Raises `Forbidden`, `NotFound`, `Invalid`, `Conflict`.
    """
    require_all_of(session, actor, staff_id)
    if sign_on is None:
        raise NotFound("single sign-on")
    account = _sound(typed)
    by_subject = account if sign_on.rules.claim == "sub" else None
    link = Link(staff_id, sign_on.issuer, account, now, actor.id, by_subject)
    return _keep(session, actor, link, now=now)


def link_oneself(session: WriteSession, actor: Actor, identity: Identity, *, now: datetime) -> Link:
    """Link the account that somebody who is signed in here came back with.

    Whoever came by another one before is signed out. Raises `Conflict`.
    """
    issuer, subject, account = identity.issuer, identity.subject, identity.account
    link = Link(actor.id, issuer, account, now, actor.id, subject, linked_at=now)
    return _keep(session, actor, link, now=now)


def undo_link(session: WriteSession, actor: Actor, staff_id: str, *, now: datetime) -> None:
    """Have somebody's account open nothing from now on; whoever came by it is signed out.

    Raises `Forbidden`, `NotFound`.
    """
    require_all_of(session, actor, staff_id)
    _undo(session, actor, staff_id, now=now)
    close_sessions_of(session, staff_id)


def undo_own_link(session: WriteSession, actor: Actor, *, now: datetime) -> None:
    """Have one's own account open nothing from now on; all other sessions end. `NotFound`."""
    _undo(session, actor, actor.id, now=now)
    close_sessions_of(session, actor.id, but=actor.access_id or "")


def read_link(session: ReadSession, actor: Actor, staff_id: str) -> Link | None:
    """Answer somebody's account, to themselves and to whoever links accounts."""
    if actor.staff_id != staff_id:
        require_all_of(session, actor, staff_id)
    return stored.read_link(session, staff_id)


def list_linked(session: ReadSession, actor: Actor, sign_on: SignOn) -> frozenset[str]:
    """Answer the ids of all whose account is entered, to whoever links; nobody to others."""
    is_to_see = may(actor, Act.SET_UP)
    return stored.staff_with_link(session, sign_on.issuer) if is_to_see else frozenset()


def staff_of(session: WriteSession, identity: Identity, *, now: datetime) -> Staff | None:
    """Answer whose account it is, None where nobody who works here has it.

    What it is called counts the first time only: who has that name there later is somebody else.
    """
    link = stored.link_of_subject(session, identity.issuer, identity.subject)
    if link is None:
        link = stored.link_of_account(session, identity.issuer, identity.account)
    if link is None or link.subject not in (None, identity.subject):
        return None
    staff = stored_staff(session, link.staff_id)
    if staff is None or not staff.active:
        return None
    if link.linked_at is None:
        stored.save_link(session, replace(link, subject=identity.subject, linked_at=now))
    return staff


def _sound(typed: str) -> str:
    account = typed.strip()
    if len(account) > LONGEST:
        raise Invalid("account", f"is too long; expected at most {LONGEST} characters")
    if not account or not account.isprintable():
        raise Invalid("account", "expected what the account is called at the provider")
    return account


def _keep(session: WriteSession, actor: Actor, link: Link, *, now: datetime) -> Link:
    others = [stored.link_of_account(session, link.issuer, link.account)]
    if link.subject is not None:
        others.append(stored.link_of_subject(session, link.issuer, link.subject))
    if any(one is not None and one.staff_id != link.staff_id for one in others):
        raise Conflict(TAKEN)
    before = stored.read_link(session, link.staff_id)
    stored.save_link(session, link)
    if before is not None and before.linked_at is not None and before.subject != link.subject:
        close_sessions_of(session, link.staff_id, but=actor.access_id or "")
    note(session, actor, AuditAct.ACCOUNT_LINKED, _whose(link.staff_id), now=now)
    return link


def _undo(session: WriteSession, actor: Actor, staff_id: str, *, now: datetime) -> None:
    if not stored.forget_link(session, staff_id):
        raise NotFound("the link")
    note(session, actor, AuditAct.LINK_UNDONE, _whose(staff_id), now=now)


def _whose(staff_id: str) -> Subject:
    return Subject(SubjectKind.STAFF, staff_id)
