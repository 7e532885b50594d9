"""Wall links: an address that shows one ward's wall view without a sign-in, until revoked."""

from datetime import datetime

from server.domain.audit import AuditAct, Subject, SubjectKind
from server.services.actor import Actor
from server.services.audit import note
from server.services.errors import NotFound
from server.services.passwords import hash_secret, new_secret
from server.services.permissions import Act, require
from server.store import wall_links as stored
from server.store.ids import new_id
from server.store.sessions import ReadSession, WriteSession
from server.store.wall_links import WallLink
from server.store.wards import read_ward


def make_wall_link(session: WriteSession, actor: Actor, ward_id: str, *, now: datetime) -> str:
    """Answer the secret part of a new address, shown once. Raises `Forbidden`, `NotFound`."""
    require(actor, Act.LINK_WALL, ward_id)
    if read_ward(session, ward_id) is None:
        raise NotFound("the ward")
    secret, link = new_secret(), WallLink(new_id(), ward_id, now)
    stored.add_wall_link(session, link, hash_secret(secret))
    subject = Subject(SubjectKind.WALL_LINK, link.id)
    note(session, actor, AuditAct.WALL_LINK_MADE, subject, now=now, ward_id=ward_id)
    return secret


def ward_of_wall_link(session: ReadSession, secret: str) -> str | None:
    """Answer the ward a link opens, None if it opens none."""
    return stored.ward_of_wall_link(session, hash_secret(secret))


def list_wall_links(session: ReadSession, actor: Actor, ward_id: str) -> tuple[WallLink, ...]:
    """Answer the links of a ward, the newest first; their secrets are not known."""
    require(actor, Act.LINK_WALL, ward_id)
    return stored.wall_links_of(session, ward_id)


def revoke_wall_link(
    session: WriteSession, actor: Actor, ward_id: str, link_id: str, *, now: datetime
) -> None:
    """Close a link for good. Raises `Forbidden`, `NotFound`."""
    require(actor, Act.LINK_WALL, ward_id)
    if link_id not in {link.id for link in stored.wall_links_of(session, ward_id)}:
        raise NotFound("the wall link")
    stored.revoke_wall_link(session, link_id, now)
    subject = Subject(SubjectKind.WALL_LINK, link_id)
    note(session, actor, AuditAct.WALL_LINK_REVOKED, subject, now=now, ward_id=ward_id)
