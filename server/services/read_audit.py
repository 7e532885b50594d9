"""Read the audit trail: by person, patient, ward, act and day, the newest first."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Final

from server.domain.audit import SubjectKind
from server.domain.audit_chain import Link
from server.domain.request import Patient
from server.services.actor import Actor
from server.services.check_audit import Checked, last_checked
from server.services.permissions import Act, require
from server.store.audit_search import AuditQuery, find_links
from server.store.patients import patients_of_record_number, read_patients
from server.store.sessions import ReadSession
from server.store.staff import staff_names
from server.store.wards import list_wards

PAGE: Final = 50


@dataclass(frozen=True, slots=True)
class Trail:
    """A page of the trail with the names it needs, and how the chain stood when last checked.

    `older` is the place to ask on from, None where there is nothing older.
    """

    links: tuple[Link, ...]
    older: int | None
    patients: Mapping[str, Patient]
    staff: Mapping[str, str]
    wards: Mapping[str, str]
    checked: Checked | None


def read_audit(
    session: ReadSession,
    actor: Actor,
    asked: AuditQuery,
    *,
    record_number: str | None = None,
    limit: int = PAGE,
) -> Trail:
    """Answer a page of what happened on the actor's wards, and of what their people did on none.

    Raises `Forbidden`.
    """
    require(actor, Act.READ_AUDIT, asked.ward_id)
    if record_number is not None:
        named = patients_of_record_number(session, record_number)
        asked = replace(asked, patient_ids=tuple(patient.id for patient in named))
    found = find_links(session, asked, actor.wards, limit=limit + 1)
    links = found[:limit]
    return Trail(
        links=links,
        older=links[-1].position if len(found) > limit else None,
        patients=read_patients(session, {one.patient_id for one in links if one.patient_id}),
        staff=staff_names(session, _named_staff(links)),
        wards={ward.id: ward.name for ward in list_wards(session)},
        checked=last_checked(session),
    )


def _named_staff(links: tuple[Link, ...]) -> set[str]:
    """The members of staff to whom something was done."""
    return {
        one.subject_id
        for one in links
        if one.subject_id and one.subject_kind == SubjectKind.STAFF.value
    }
