"""The rows of the audit trail that somebody asks for, the newest first, a page at a time."""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final

from sqlalchemy import Select, and_, or_, select

from server.domain.audit import AuditAct
from server.domain.audit_chain import Link
from server.domain.encoding import write_instant
from server.store.sessions import ReadSession
from server.store.statements import columns_for
from server.store.tables import AUDIT, STAFF_WARD

_LINKS: Final = select(*columns_for(AUDIT, Link))


@dataclass(frozen=True, slots=True)
class AuditQuery:
    """What is asked for; None: whatever it is. From `from_at` on until before `to_at`.

    `before` is the place of the row that the page before ended with.
    """

    actor_id: str | None = None
    patient_ids: tuple[str, ...] | None = None
    ward_id: str | None = None
    act: AuditAct | None = None
    from_at: datetime | None = None
    to_at: datetime | None = None
    before: int | None = None


def find_links(
    session: ReadSession, asked: AuditQuery, wards: Collection[str] | None, *, limit: int
) -> tuple[Link, ...]:
    """At most `limit` rows; with `wards` those of these wards, and of their staff where no ward is.

    They are found from place to place and not by counting: a page costs the same wherever it is.
    """
    found = _narrowed(_LINKS, asked)
    if wards is not None:
        found = found.where(_of_wards(sorted(wards)))
    found = found.order_by(AUDIT.c.position.desc()).limit(limit)
    return tuple(Link(*row) for row in session.rows(found))


def _narrowed(found: Select[Any], asked: AuditQuery) -> Select[Any]:
    column = AUDIT.c
    if asked.actor_id is not None:
        found = found.where(column.actor_id == asked.actor_id)
    if asked.patient_ids is not None:
        found = found.where(column.patient_id.in_(asked.patient_ids))
    if asked.ward_id is not None:
        found = found.where(column.ward_id == asked.ward_id)
    if asked.act is not None:
        found = found.where(column.act == asked.act.value)
    if asked.from_at is not None:
        found = found.where(column.at >= write_instant(asked.from_at))
    if asked.to_at is not None:
        found = found.where(column.at < write_instant(asked.to_at))
    return found if asked.before is None else found.where(column.position < asked.before)


def _of_wards(wards: list[str]) -> Any:
    staff = select(STAFF_WARD.c.staff_id).where(STAFF_WARD.c.ward_id.in_(wards))
    nowhere = and_(AUDIT.c.ward_id.is_(None), AUDIT.c.actor_id.in_(staff))
    return or_(AUDIT.c.ward_id.in_(wards), nowhere)
