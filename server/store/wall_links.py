"""Links that open the wall view of one ward without a sign-in."""

from dataclasses import dataclass
from datetime import datetime
from typing import Final

from sqlalchemy import insert, select, update

from server.store.sessions import ReadSession, WriteSession
from server.store.statements import columns_for, values_of
from server.store.tables import WALL_LINK


@dataclass(frozen=True, slots=True)
class WallLink:
    """A link to the wall view of a ward."""

    id: str
    ward_id: str
    made_at: datetime
    revoked_at: datetime | None = None


_LINKS: Final = select(*columns_for(WALL_LINK, WallLink))


def add_wall_link(session: WriteSession, link: WallLink, link_hash: str) -> None:
    """Keep a new link by the hash of its secret."""
    session.run(insert(WALL_LINK), values_of(link) | {"hash": link_hash})


def ward_of_wall_link(session: ReadSession, link_hash: str) -> str | None:
    """The ward that a link opens, None if it opens none (any more)."""
    standing = select(WALL_LINK.c.ward_id).where(WALL_LINK.c.hash == link_hash)
    ward_id: str | None = session.value(standing.where(WALL_LINK.c.revoked_at.is_(None)))
    return ward_id


def wall_links_of(session: ReadSession, ward_id: str) -> tuple[WallLink, ...]:
    """The links made for a ward, revoked ones too, the newest first."""
    listed = _LINKS.where(WALL_LINK.c.ward_id == ward_id)
    newest_first = listed.order_by(WALL_LINK.c.made_at.desc(), WALL_LINK.c.id)
    return tuple(WallLink(*row) for row in session.rows(newest_first))


def revoke_wall_link(session: WriteSession, link_id: str, at: datetime) -> bool:
    """Have a link open nothing from now on; False if there was none left to revoke."""
    standing = update(WALL_LINK).where(WALL_LINK.c.id == link_id, WALL_LINK.c.revoked_at.is_(None))
    return session.run(standing.values(revoked_at=at)) == 1
