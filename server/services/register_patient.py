"""Register a patient, or record what has changed about one."""

from dataclasses import dataclass
from datetime import date, datetime

from server.domain import limits
from server.domain.errors import Invalid
from server.domain.payloads.values import require_text, require_within
from server.domain.request import Patient
from server.domain.words import BloodGroup
from server.services.actor import Actor
from server.services.errors import Forbidden, NotFound
from server.services.permissions import Act, require
from server.services.refresh import refresh
from server.store import patients as stored
from server.store.board import open_episode_ids
from server.store.ids import new_id
from server.store.requests import requests_of_patient
from server.store.sessions import ReadSession, WriteSession


@dataclass(frozen=True, slots=True)
class PatientDraft:
    """A patient as entered; an id that exists already changes that patient."""

    id: str | None
    record_number: str
    family_name: str
    given_name: str
    birth_date: date | None
    blood_group: BloodGroup | None = None
    weight_kg: float | None = None
    pregnant: bool | None = None
    overload_risks: tuple[str, ...] = ()
    spo2_scale: int | None = None


def register_patient(
    session: WriteSession, actor: Actor, draft: PatientDraft, *, now: datetime
) -> Patient:
    """Register or change a patient. Raises `Forbidden`, `Invalid`."""
    require(actor, Act.ORDER)
    patient = _patient(draft, now)
    if draft.id is not None:
        _require_own_ward(session, actor, draft.id)
    stored.save_patient(session, patient, recorded_at=now, recorded_by=actor.id)
    # Weight, age and overload risk change ceilings of rates: the patient's units look different.
    # Those that have left the board are judged by them too, if a fact of them comes in late.
    affected = open_episode_ids(session, [patient.id], now)
    for request in requests_of_patient(session, patient.id):
        session.touch(request.ward_id, [request.id] if request.id in affected else [])
    refresh(session, affected, now=now)
    return patient


def read_patient(session: ReadSession, actor: Actor, patient_id: str) -> Patient:
    """Answer a patient. Raises `NotFound`, `Forbidden`."""
    require(actor, Act.READ)
    patient = stored.read_patient(session, patient_id)
    if patient is None:
        raise NotFound("the patient")
    _require_own_ward(session, actor, patient_id)
    return patient


def find_patients(session: ReadSession, actor: Actor, typed: str) -> tuple[Patient, ...]:
    """Answer the actor's patients whose record number or names contain what was typed."""
    require(actor, Act.READ)
    return stored.find_patients(session, typed, ward_ids=actor.wards)


def _patient(draft: PatientDraft, now: datetime) -> Patient:
    require_text("record_number", draft.record_number, limits.SHORT_TEXT)
    require_text("family_name", draft.family_name, limits.SHORT_TEXT)
    require_text("given_name", draft.given_name, limits.SHORT_TEXT)
    require_within("weight_kg", draft.weight_kg, limits.WEIGHT_KG)
    if draft.birth_date is not None and draft.birth_date > now.date():
        raise Invalid("birth_date", "lies in the future; expected a day that has come")
    return Patient(
        id=draft.id or new_id(),
        record_number=draft.record_number.strip(),
        family_name=draft.family_name.strip(),
        given_name=draft.given_name.strip(),
        birth_date=draft.birth_date,
        blood_group=draft.blood_group,
        weight_kg=draft.weight_kg,
        pregnant=draft.pregnant,
        overload_risks=draft.overload_risks,
        spo2_scale=draft.spo2_scale,
    )


def _is_own(session: ReadSession, actor: Actor, patient_id: str) -> bool:
    """A patient nobody has ordered for yet belongs to whoever registers or orders next."""
    requests = requests_of_patient(session, patient_id)
    return not requests or any(actor.is_on(request.ward_id) for request in requests)


def _require_own_ward(session: ReadSession, actor: Actor, patient_id: str) -> None:
    if not _is_own(session, actor, patient_id):
        raise Forbidden("this patient is not on one of your wards")
