"""Accounts at a provider, and the sign-ins that were begun there; no secret stands in the clear."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final

from sqlalchemy import ColumnElement, and_, bindparam, delete, func, insert, select

from server.store.sessions import ReadSession, WriteSession
from server.store.statements import columns_for, upsert, values_of
from server.store.tables import SESSION, SSO_BEGUN, SSO_LINK, SSO_SESSION


@dataclass(frozen=True, slots=True)
class Link:
    """Which account at a provider is a member of staff's.

    `account` is what they are called there. `subject`, the provider's own key of it, is known from
    `linked_at` on, when they first came with it; from then on it alone counts.
    """

    staff_id: str
    issuer: str
    account: str
    entered_at: datetime
    entered_by: str
    subject: str | None = None
    linked_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class Browser:
    """Where a sign-in is begun, by hashes; `known_device` None: nobody signed in there before."""

    visit_hash: str
    known_device: str | None


@dataclass(frozen=True, slots=True)
class Begun:
    """A sign-in that was begun at `begun_at` and leads to `next_path`.

    With `staff_id` it links the account to that person, who is signed in.
    """

    next_path: str
    staff_id: str | None
    begun_at: datetime


_LINK: Final = select(*columns_for(SSO_LINK, Link))
_TOKEN: Final = (
    select(SSO_SESSION.c.session_id, SSO_SESSION.c.id_token)
    .join_from(SSO_SESSION, SESSION, SESSION.c.id == SSO_SESSION.c.session_id)
    .where(SESSION.c.hash == bindparam("session_hash"))
)

_MADE: Final = (
    select(SESSION.c.made_at)
    .join_from(SSO_SESSION, SESSION, SESSION.c.id == SSO_SESSION.c.session_id)
    .where(SESSION.c.id == bindparam("of_session"))
)


def save_link(session: WriteSession, link: Link) -> None:
    """Keep an account, in place of the one before. `Clash`: it is somebody else's."""
    session.run(upsert(session.engine_name, SSO_LINK.name), values_of(link))


def forget_link(session: WriteSession, staff_id: str) -> bool:
    """Have somebody's account open nothing from now on; False if none was linked."""
    return session.run(delete(SSO_LINK).where(SSO_LINK.c.staff_id == staff_id)) == 1


def read_link(session: ReadSession, staff_id: str) -> Link | None:
    """The account of a member of staff, None without one."""
    return _link(session, SSO_LINK.c.staff_id == staff_id)


def link_of_account(session: ReadSession, issuer: str, account: str) -> Link | None:
    """Whose an account is by what it is called, None if nobody's."""
    return _link(session, SSO_LINK.c.issuer == issuer, SSO_LINK.c.account == account)


def link_of_subject(session: ReadSession, issuer: str, subject: str) -> Link | None:
    """Whose an account is by the provider's own key, None if nobody came with it."""
    return _link(session, SSO_LINK.c.issuer == issuer, SSO_LINK.c.subject == subject)


def staff_with_link(session: ReadSession, issuer: str) -> frozenset[str]:
    """The ids of all whose account at a provider is entered."""
    linked = select(SSO_LINK.c.staff_id).where(SSO_LINK.c.issuer == issuer)
    return frozenset(row.staff_id for row in session.rows(linked))


def add_begun(session: WriteSession, begun: Begun, state_hash: str, browser: Browser) -> None:
    """Keep that a sign-in was begun in one browser."""
    session.run(
        insert(SSO_BEGUN), values_of(begun) | values_of(browser) | {"state_hash": state_hash}
    )


def count_begun(session: ReadSession, since: datetime, browser: Browser | None) -> int:
    """How many sign-ins that are open were begun after an instant in a browser; None: strange."""
    counted = select(func.count()).select_from(SSO_BEGUN)
    return int(session.value(counted.where(_begun_in(browser), SSO_BEGUN.c.begun_at > since)))


def keep_last_begun(session: WriteSession, most: int, browser: Browser | None) -> None:
    """Delete the sign-ins begun in a browser but for the last so many; None: in strange ones."""
    begun = SSO_BEGUN.c
    latest_first = (
        select(begun.state_hash)
        .where(_begun_in(browser))
        .order_by(begun.begun_at.desc(), begun.state_hash)
    )
    session.run(delete(SSO_BEGUN).where(begun.state_hash.in_(latest_first.offset(most))))


def take_begun(session: WriteSession, state_hash: str, visit_hash: str) -> Begun | None:
    """Take a begun sign-in, which nobody finds again; None if that browser began none of it."""
    of_browser = (SSO_BEGUN.c.state_hash == state_hash, SSO_BEGUN.c.visit_hash == visit_hash)
    row = session.row(select(*columns_for(SSO_BEGUN, Begun)).where(*of_browser))
    is_taken = session.run(delete(SSO_BEGUN).where(*of_browser)) == 1
    return Begun(*row) if row is not None and is_taken else None


def forget_begun(session: WriteSession, before: datetime) -> None:
    """Delete the sign-ins that were begun before an instant."""
    session.run(delete(SSO_BEGUN).where(SSO_BEGUN.c.begun_at < before))


def keep_id_token(session: WriteSession, session_id: str, id_token: str) -> None:
    """Keep, sealed, what the provider said of whoever opened a session; it goes with it."""
    sealed = session.vault.seal(id_token, _about(session_id))
    session.run(insert(SSO_SESSION), {"session_id": session_id, "id_token": sealed})


def id_token_of(session: ReadSession, session_hash: str) -> str:
    """What the provider said of whoever opened a session; empty for any other way in."""
    row = session.row(_TOKEN, {"session_hash": session_hash})
    return "" if row is None else session.vault.open(row.id_token, _about(row.session_id))


def came_by_provider_at(session: ReadSession, session_id: str) -> datetime | None:
    """When a session was opened by way of the provider, None for any other way in."""
    made_at: datetime | None = session.value(_MADE, {"of_session": session_id})
    return made_at


def _link(session: ReadSession, *where: ColumnElement[Any]) -> Link | None:
    row = session.row(_LINK.where(*where))
    return None if row is None else Link(*row)


def _begun_in(browser: Browser | None) -> ColumnElement[Any]:
    """What was begun on a known device, in one strange browser, or in all of those."""
    is_strange: ColumnElement[Any] = SSO_BEGUN.c.known_device.is_(None)
    if browser is None:
        return is_strange
    if browser.known_device is None:
        return and_(is_strange, SSO_BEGUN.c.visit_hash == browser.visit_hash)
    return and_(SSO_BEGUN.c.known_device == browser.known_device)


def _about(session_id: str) -> str:
    return f"sso_session {session_id}"
