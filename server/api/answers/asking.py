"""Patients and orders, as answered."""

from datetime import date

from server.api.answers.numbers import rounded
from server.api.fields import Given
from server.api.instants import Moment
from server.domain.request import Patient
from server.domain.words import BloodGroup, Component, Priority
from server.services.open_order import Ordered


class PatientName(Given):
    """A patient as a row of the board names them; `birth_date` null: not known."""

    id: str
    record_number: str
    family_name: str
    given_name: str
    birth_date: date | None


class PatientAnswer(PatientName):
    """What is known of a patient."""

    blood_group: BloodGroup | None
    weight_kg: float | None
    pregnant: bool | None
    overload_risks: list[str]
    spo2_scale: int | None


class OrderAnswer(Given):
    """An order with the episodes it gave, in sequence."""

    id: str
    patient_id: str
    ward_id: str
    bed: str
    component: Component
    units: int
    volume_ml: float | None
    urgency: Priority
    not_before: Moment | None
    wanted_by: Moment | None
    max_rate_ml_h: float | None
    duration_minutes: int | None
    requirements: list[str]
    sample_taken_at: Moment | None
    recorded_at: Moment
    recorded_by: str
    episode_ids: list[str]


class RecordedAnswer(Given):
    """A set of vital signs was recorded."""

    event_id: str
    revision: int


def patient_name(patient: Patient) -> PatientName:
    """Who a patient is."""
    return PatientName(
        id=patient.id,
        record_number=patient.record_number,
        family_name=patient.family_name,
        given_name=patient.given_name,
        birth_date=patient.birth_date,
    )


def patient_answer(patient: Patient) -> PatientAnswer:
    """All that is known of a patient."""
    return PatientAnswer(
        **patient_name(patient).model_dump(),
        blood_group=patient.blood_group,
        weight_kg=rounded(patient.weight_kg),
        pregnant=patient.pregnant,
        overload_risks=list(patient.overload_risks),
        spo2_scale=patient.spo2_scale,
    )


def order_answer(ordered: Ordered) -> OrderAnswer:
    """An order."""
    order = ordered.order
    return OrderAnswer(
        id=order.id,
        patient_id=order.patient_id,
        ward_id=order.ward_id,
        bed=order.bed,
        component=order.component,
        units=order.units,
        volume_ml=rounded(order.volume_ml),
        urgency=order.priority,
        not_before=order.not_before,
        wanted_by=order.wanted_by,
        max_rate_ml_h=rounded(order.max_rate_ml_h),
        duration_minutes=order.duration_minutes,
        requirements=list(order.requirements),
        sample_taken_at=order.sample_taken_at,
        recorded_at=order.recorded_at,
        recorded_by=order.recorded_by,
        episode_ids=list(ordered.episode_ids),
    )
