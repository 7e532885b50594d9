"""Sign somebody in whom the provider recognised, and note it where it did not come to that."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from server.domain.audit import AuditAct
from server.domain.sign_on import Identity
from server.services.actor import Actor
from server.services.audit import note
from server.services.half_sign_in import Half
from server.services.passwords import hash_secret
from server.services.sign_in import SignedIn, change_person
from server.services.sso_links import staff_of
from server.store.sessions import ReadSession, WriteSession
from server.store.sso import came_by_provider_at, id_token_of, keep_id_token
from server.store.staff import Staff

WAY: Final = "single sign-on"
JUST_NOW: Final = timedelta(minutes=10)


class NotLinked(Exception):
    """The account is nobody's here; `account` is what the provider calls it."""

    def __init__(self, account: str) -> None:
        super().__init__("the account is nobody's here")
        self.account = account


@dataclass(frozen=True, slots=True)
class Recognised:
    """Whom the provider recognised, and its word for it, by which they are signed out there."""

    identity: Identity
    id_token: str


@dataclass(frozen=True, slots=True)
class Place:
    """The browser somebody signs in at: the secret of whoever is there, and the device in words."""

    secret: str
    device: str
    length: timedelta


def recognised_staff(session: WriteSession, identity: Identity, *, now: datetime) -> Staff:
    """Answer whose account it is. Raises `NotLinked`."""
    staff = staff_of(session, identity, now=now)
    if staff is None:
        raise NotLinked(identity.account)
    return staff


def sign_on(session: WriteSession, known: Half, place: Place, *, now: datetime) -> SignedIn:
    """Open a session for whoever was recognised, in place of the one that is there.

    The provider's word, if it was the provider that recognised them, is kept with it.
    """
    opened = change_person(
        session,
        place.secret,
        known.staff,
        now=now,
        length=place.length,
        device=place.device,
        way=WAY if known.id_token else "",
    )
    if known.id_token:
        keep_id_token(session, opened.actor.access_id or "", known.id_token)
    return opened


def id_token_behind(session: ReadSession, secret: str) -> str:
    """Answer by what somebody is signed out at the provider; empty if they came another way."""
    return id_token_of(session, hash_secret(secret))


def is_just_recognised(session: ReadSession, actor: Actor, *, now: datetime) -> bool:
    """Whether the provider recognised whoever is signed in a moment ago.

    Then they need not give a password again, which not everybody has who comes from there.
    """
    came_at = came_by_provider_at(session, actor.access_id or "")
    return came_at is not None and now - came_at <= JUST_NOW


def note_refusal(session: WriteSession, why: str, *, now: datetime) -> None:
    """Note that somebody came back from the provider and was not let in; who is not known."""
    detail = {"way": WAY, "why": why}
    note(session, None, AuditAct.SIGN_IN_FAILED, now=now, detail=detail)
