"""Patients and their observations."""

from fastapi import APIRouter, Response

from server.api.answers.asking import PatientAnswer, RecordedAnswer, patient_answer
from server.api.answers.problem import READING, SEARCHING, WRITING
from server.api.bodies.asking import PatientBody, PatientSearchBody
from server.api.bodies.bedside import ObservationBody
from server.api.bodies.facts import payload_of
from server.api.caller import Asks
from server.api.json import json_answer
from server.api.once import Writes
from server.api.queries import PathId
from server.api.requests import StrictRoute
from server.domain.audit import SubjectKind
from server.domain.payloads import Observed
from server.domain.words import Kind
from server.services.record_observation import record_observation
from server.services.register_patient import find_patients, read_patient, register_patient
from server.services.shown import shows

router = APIRouter(route_class=StrictRoute, tags=["patients"])


@router.post("/patients", status_code=201, response_model=PatientAnswer, responses=WRITING)
def post_patient(body: PatientBody, writes: Writes) -> Response:
    """Register a patient, or record what has changed about the one of that id."""
    return writes.write(
        lambda session, actor, now: patient_answer(
            register_patient(session, actor, body.draft(), now=now)
        )
    )


@router.post("/patients/search", response_model=list[PatientAnswer], responses=SEARCHING)
@shows(SubjectKind.PATIENTS)
def post_search(body: PatientSearchBody, asks: Asks) -> Response:
    """The caller's patients whose names or record number contain a text; nothing is stored.

    Who is looked for stands in the body: addresses are kept by proxies and histories.
    """
    with asks.read() as (session, _):
        found = find_patients(session, asks.actor, body.text)
    return json_answer([patient_answer(one) for one in found])


@router.get("/patients/{id}", response_model=PatientAnswer, responses=READING)
@shows(SubjectKind.PATIENT, "id")
def get_patient(id: PathId, asks: Asks) -> Response:
    """A patient."""
    with asks.read() as (session, _):
        patient = read_patient(session, asks.actor, id)
    return json_answer(patient_answer(patient))


@router.post(
    "/patients/{id}/observations",
    status_code=201,
    response_model=RecordedAnswer,
    responses=WRITING,
)
def post_observation(id: PathId, body: ObservationBody, writes: Writes) -> Response:
    """Record a set of vital signs; it serves every unit whose window it falls in."""
    observed = payload_of(Kind.OBSERVED, body)
    assert isinstance(observed, Observed)  # noqa: S101 - the kind says so
    return writes.write(
        lambda session, actor, now: RecordedAnswer.model_validate(
            record_observation(
                session,
                actor,
                id,
                observed,
                happened_at=body.happened_at,
                now=now,
                staff_id=body.staff_id,
            ),
            from_attributes=True,
        )
    )
