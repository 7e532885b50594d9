"""Badges and PINs: a badge by its keyed hash, a PIN by what it is checked against."""

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import delete, select

from server.store.sessions import ReadSession, WriteSession
from server.store.statements import columns_for, upsert, values_of
from server.store.tables import BADGE, PIN


@dataclass(frozen=True, slots=True)
class Badge:
    """That somebody has a badge, since when and by whom; its number is not known."""

    staff_id: str
    recorded_at: datetime
    recorded_by: str


def save_badge(session: WriteSession, badge: Badge, badge_hash: str) -> None:
    """Keep a badge, in place of the one before. `Clash`: it is somebody else's."""
    statement = upsert(session.engine_name, BADGE.name)
    session.run(statement, values_of(badge) | {"hash": badge_hash})


def forget_badge(session: WriteSession, staff_id: str) -> bool:
    """Have somebody's badge open nothing from now on; False if they have none."""
    return session.run(delete(BADGE).where(BADGE.c.staff_id == staff_id)) == 1


def read_badge(session: ReadSession, staff_id: str) -> Badge | None:
    """The badge of a member of staff, None without one."""
    row = session.row(select(*columns_for(BADGE, Badge)).where(BADGE.c.staff_id == staff_id))
    return None if row is None else Badge(*row)


def holder_of_badge(session: ReadSession, badge_hash: str) -> str | None:
    """The id of whoever has a badge, None if nobody does."""
    staff_id: str | None = session.value(select(BADGE.c.staff_id).where(BADGE.c.hash == badge_hash))
    return staff_id


def staff_with_badge(session: ReadSession) -> frozenset[str]:
    """The ids of all who have a badge."""
    return frozenset(row.staff_id for row in session.rows(select(BADGE.c.staff_id)))


def save_pin(session: WriteSession, staff_id: str, pin_hash: str, at: datetime) -> None:
    """Keep what a PIN is checked against."""
    row = {"staff_id": staff_id, "hash": pin_hash, "set_at": at}
    session.run(upsert(session.engine_name, PIN.name), row)


def pin_of(session: ReadSession, staff_id: str) -> tuple[str, datetime] | None:
    """What somebody's PIN is checked against and since when, None without one."""
    row = session.row(select(PIN.c.hash, PIN.c.set_at).where(PIN.c.staff_id == staff_id))
    return None if row is None else (row.hash, row.set_at)


def forget_pin(session: WriteSession, staff_id: str) -> bool:
    """Have somebody's PIN fit nothing from now on; False if they have none."""
    return session.run(delete(PIN).where(PIN.c.staff_id == staff_id)) == 1
