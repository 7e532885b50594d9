"""What was noted and what was recorded, as somebody asks for it, the newest first, by pages."""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final

from sqlalchemy import Select, and_, func, literal, or_, select, tuple_

from server.domain.audit import AuditAct, SubjectKind
from server.domain.audit_chain import Link
from server.domain.encoding import write_instant
from server.domain.words import Kind
from server.store.sessions import ReadSession
from server.store.statements import columns_for
from server.store.tables import AUDIT, EVENT, STAFF_WARD


@dataclass(frozen=True, slots=True)
class Fact:
    """That something was recorded about a unit or its patient; what it says stays in the log."""

    position: int
    recorded_at: datetime
    recorded_by: str
    kind: Kind
    episode_id: str | None
    patient_id: str
    ward_id: str | None


@dataclass(frozen=True, slots=True)
class AuditQuery:
    """What is asked for; None: whatever it is. From `from_at` on until before `to_at`.

    `before` is the place in the trail, and `fact_before` the place in the log, of the last row
    of the page before.
    """

    actor_id: str | None = None
    patient_ids: tuple[str, ...] | None = None
    ward_id: str | None = None
    act: AuditAct | None = None
    from_at: datetime | None = None
    to_at: datetime | None = None
    before: int | None = None
    fact_before: int | None = None


_LINKS: Final = select(*columns_for(AUDIT, Link))
_FACTS: Final = select(*columns_for(EVENT, Fact))


def find_links(
    session: ReadSession, asked: AuditQuery, wards: Collection[str] | None, *, limit: int
) -> tuple[Link, ...]:
    """At most `limit` rows; with `wards` those of these wards, and by or to their staff.

    They are found from place to place and not by counting: a page costs the same wherever it is.
    """
    found = _narrowed(_LINKS, asked)
    if wards is not None:
        found = found.where(_of_wards(sorted(wards)))
    found = found.order_by(AUDIT.c.at.desc(), AUDIT.c.position.desc()).limit(limit)
    return tuple(Link(*row) for row in session.rows(found))


def find_facts(
    session: ReadSession, asked: AuditQuery, wards: Collection[str] | None, *, limit: int
) -> tuple[Fact, ...]:
    """At most `limit` facts of the log, found in the same way; the act asked for is no matter."""
    column, found = EVENT.c, _FACTS
    if asked.actor_id is not None:
        found = found.where(
            or_(*(one == asked.actor_id for one in (column.recorded_by, column.staff_id)))
        )
    if asked.patient_ids is not None:
        found = found.where(column.patient_id.in_(asked.patient_ids))
    if asked.ward_id is not None:
        found = found.where(column.ward_id == asked.ward_id)
    if wards is not None:
        found = found.where(column.ward_id.in_(sorted(wards)))
    if asked.from_at is not None:
        found = found.where(column.recorded_at >= asked.from_at)
    if asked.to_at is not None:
        found = found.where(column.recorded_at < asked.to_at)
    if asked.fact_before is not None:
        found = found.where(column.position < asked.fact_before)
    rows = session.rows(found.order_by(column.position.desc()).limit(limit))
    return tuple(Fact(**row._asdict() | {"kind": Kind(row.kind)}) for row in rows)


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
    if asked.before is not None:
        noted_at = select(AUDIT.c.at).where(AUDIT.c.position == asked.before).scalar_subquery()
        here = tuple_(noted_at, literal(asked.before))
        found = found.where(tuple_(column.at, column.position) < here)
    return found


def _of_wards(wards: list[str]) -> Any:
    # Not the bare columns: SQLite would gather all rows of a ward by its index and sort them.
    ward, actor = (func.coalesce(column, "") for column in (AUDIT.c.ward_id, AUDIT.c.actor_id))
    staff = select(STAFF_WARD.c.staff_id).where(STAFF_WARD.c.ward_id.in_(wards))
    to_staff = and_(AUDIT.c.subject_kind == SubjectKind.STAFF.value, AUDIT.c.subject_id.in_(staff))
    of_staff = or_(actor.in_(staff), to_staff)
    return or_(ward.in_(wards), and_(ward == "", of_staff))
