"""Patients as last recorded, as known at an earlier instant, and by what is typed of them."""

from collections.abc import Iterable, Mapping
from datetime import date, datetime
from operator import attrgetter
from typing import Any, Final

from sqlalchemy import exists, insert, or_, select

from server.domain.request import Patient
from server.domain.words import BloodGroup
from server.store.sessions import ReadSession, WriteSession
from server.store.statements import IDS, columns_for, in_chunks, one_of, upsert, values_of
from server.store.tables import EPISODE, PATIENT, PATIENT_CHANGE

_PATIENTS: Final = select(*columns_for(PATIENT, Patient))
_NAMED: Final = _PATIENTS.where(one_of(PATIENT.c.id))
_CHANGES: Final = select(PATIENT_CHANGE).where(one_of(PATIENT_CHANGE.c.patient_id))


def save_patient(
    session: WriteSession, patient: Patient, *, recorded_at: datetime, recorded_by: str
) -> None:
    """Store what is now known of a patient; what was known before stays in the history."""
    facts = values_of(patient)
    recorded = {"recorded_at": recorded_at, "recorded_by": recorded_by}
    names = (patient.record_number, patient.family_name, patient.given_name, patient.family_name)
    row = facts | recorded | {"search_text": " ".join(names).casefold()}
    session.run(upsert(session.engine_name, PATIENT.name), row)
    kept = facts | {"birth_date": patient.birth_date and patient.birth_date.isoformat()}
    session.run(insert(PATIENT_CHANGE), {"patient_id": patient.id, "facts": kept} | recorded)


def read_patient(session: ReadSession, patient_id: str) -> Patient | None:
    """One patient, None if there is none of that id."""
    return read_patients(session, [patient_id]).get(patient_id)


def read_patients(
    session: ReadSession, patient_ids: Iterable[str], *, known_at: datetime | None = None
) -> dict[str, Patient]:
    """The patients of these ids, by id; with `known_at` as they were recorded by then.

    A patient recorded only later is answered as first recorded: there is nothing older to show.
    """
    read = _as_recorded if known_at is None else _as_known
    found: dict[str, Patient] = {}
    for chunk in in_chunks(sorted(set(patient_ids))):
        found |= read(session, chunk, known_at)
    return found


def find_patients(
    session: ReadSession, typed: str, *, ward_ids: Iterable[str] | None = None, limit: int = 20
) -> tuple[Patient, ...]:
    """The patients whose record number and names contain every word that was typed.

    With `ward_ids` only those asked for on one of these wards, or on none at all so far.
    """
    listed = _PATIENTS.order_by(PATIENT.c.family_name, PATIENT.c.given_name, PATIENT.c.id)
    if ward_ids is not None:
        theirs = exists().where(EPISODE.c.patient_id == PATIENT.c.id)
        here = theirs.where(EPISODE.c.ward_id.in_(sorted(ward_ids)))
        listed = listed.where(or_(here, ~theirs))
    for word in typed.casefold().split():
        listed = listed.where(PATIENT.c.search_text.contains(word, autoescape=True))
    return tuple(_patient(row._asdict()) for row in session.rows(listed.limit(limit)))


def patients_of_record_number(session: ReadSession, record_number: str) -> tuple[Patient, ...]:
    """The patients that carry a record number: more than one is a mistake somebody must see."""
    listed = _PATIENTS.where(PATIENT.c.record_number == record_number).order_by(PATIENT.c.id)
    return tuple(_patient(row._asdict()) for row in session.rows(listed))


def _as_recorded(session: ReadSession, ids: list[str], _: datetime | None) -> dict[str, Patient]:
    rows = session.rows(_NAMED, {IDS: ids})
    return {row.id: _patient(row._asdict()) for row in rows}


def _as_known(session: ReadSession, ids: list[str], at: datetime | None) -> dict[str, Patient]:
    # Sorted here: asked for an order, SQLite reads the whole history in it instead of the index.
    changes = sorted(session.rows(_CHANGES, {IDS: ids}), key=attrgetter("position"))
    found: dict[str, Patient] = {}
    for row in changes:
        if row.patient_id not in found or (at is not None and row.recorded_at <= at):
            birth_date = row.facts["birth_date"] and date.fromisoformat(row.facts["birth_date"])
            found[row.patient_id] = _patient(row.facts | {"birth_date": birth_date})
    return found


def _patient(facts: Mapping[str, Any]) -> Patient:
    group = facts["blood_group"]
    typed = {
        "blood_group": None if group is None else BloodGroup(group),
        "overload_risks": tuple(facts["overload_risks"]),
    }
    return Patient(**(dict(facts) | typed))
