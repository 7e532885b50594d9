"""Read who did, saw or took away what: by person, patient, ward, act and day, the newest first."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from enum import StrEnum
from heapq import merge
from typing import Final

from server.domain.audit import SubjectKind
from server.domain.audit_chain import Link
from server.domain.encoding import read_instant
from server.domain.request import Patient
from server.services.actor import Actor
from server.services.check_audit import Checked, last_checked
from server.services.permissions import Act, require
from server.store.audit_search import AuditQuery, Fact, find_facts, find_links
from server.store.patients import patients_of_record_number, read_patients
from server.store.sessions import ReadSession
from server.store.staff import staff_names
from server.store.wards import list_wards

PAGE: Final = 50
NO_TIME: Final = datetime(1, 1, 2, tzinfo=UTC)

TrailRow = Link | Fact


class Source(StrEnum):
    """Where rows come from: the trail, the log of facts, or both told as one."""

    TRAIL = "trail"
    LOG = "log"
    BOTH = "both"


@dataclass(frozen=True, slots=True)
class Trail:
    """A page of rows with the names it needs, and how the chain stood when last checked.

    `older` asks for the page after it, None where there is nothing older.
    """

    rows: tuple[TrailRow, ...]
    older: AuditQuery | None
    patients: Mapping[str, Patient]
    staff: Mapping[str, str]
    wards: Mapping[str, str]
    checked: Checked | None


def read_audit(
    session: ReadSession,
    actor: Actor,
    asked: AuditQuery,
    source: Source = Source.TRAIL,
    *,
    record_number: str | None = None,
    limit: int = PAGE,
) -> Trail:
    """Answer a page of what happened on the actor's wards, and of what their people did on none.

    A fact is not noted a second time: the log says who recorded it. One act that was asked for
    is one of the trail's. Raises `Forbidden`.
    """
    require(actor, Act.READ_AUDIT, asked.ward_id)
    if record_number is not None:
        named = patients_of_record_number(session, record_number)
        asked = replace(asked, patient_ids=tuple(patient.id for patient in named))
    found = _found(session, actor, asked, source, limit + 1)
    rows = found[:limit]
    return Trail(
        rows=rows,
        older=_older(asked, rows) if len(found) > limit else None,
        patients=read_patients(session, {one.patient_id for one in rows if one.patient_id}),
        staff=staff_names(session, set(_named_staff(rows))),
        wards={ward.id: ward.name for ward in list_wards(session)},
        checked=last_checked(session),
    )


def _found(
    session: ReadSession, actor: Actor, asked: AuditQuery, source: Source, limit: int
) -> tuple[TrailRow, ...]:
    links: tuple[TrailRow, ...] = ()
    facts: tuple[TrailRow, ...] = ()
    if source is not Source.LOG:
        links = find_links(session, asked, actor.wards, limit=limit)
    if source is not Source.TRAIL and asked.act is None:
        facts = find_facts(session, asked, actor.wards, limit=limit)
    return tuple(merge(links, facts, key=noted_at, reverse=True))[:limit]


def noted_at(row: TrailRow) -> datetime:
    """When it was done, or recorded; `NO_TIME` where somebody altered it to what is no time."""
    if isinstance(row, Fact):
        return row.recorded_at
    try:
        return read_instant(row.at)
    except ValueError:
        return NO_TIME


def _older(asked: AuditQuery, rows: Iterable[TrailRow]) -> AuditQuery:
    """The same question from the last row of each kind on."""
    for row in rows:
        if isinstance(row, Fact):
            asked = replace(asked, fact_before=row.position)
        else:
            asked = replace(asked, before=row.position)
    return asked


def _named_staff(rows: Iterable[TrailRow]) -> Iterable[str]:
    """Who recorded a fact, and to whom something was done: all others are named in the row."""
    for row in rows:
        if isinstance(row, Fact):
            yield row.recorded_by
        elif row.subject_kind == SubjectKind.STAFF.value and row.subject_id is not None:
            yield row.subject_id
