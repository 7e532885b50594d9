"""What the page of a unit says about the patient and the order."""

from collections.abc import Iterator
from datetime import date

from server.domain.compatibility import group_words
from server.domain.giving_sets import drops_per_ml_of
from server.domain.picture import Picture
from server.domain.request import Patient
from server.domain.requirements import words_of
from server.domain.wording import PHASE, day_text
from server.domain.words import Priority
from server.pages.episodes.sentences import Speech

PRIORITY = {
    Priority.EMERGENCY: "emergency",
    Priority.URGENT: "urgent",
    Priority.ROUTINE: "routine",
}


def patient_facts(picture: Picture) -> tuple[tuple[str, str], ...]:
    """Answer the patient's facts as (term, value)."""
    patient = picture.case.patient
    on = picture.standing.now.astimezone(picture.standing.zone).date()
    return tuple(_patient(patient, on))


def _patient(patient: Patient, on: date) -> Iterator[tuple[str, str]]:
    yield "Record number", patient.record_number
    born, age = patient.birth_date, patient.age_years(on)
    if born is not None:
        yield "Born", f"{day_text(born)}, {age}\N{NO-BREAK SPACE}y"
    if patient.blood_group is not None:
        yield "Blood group", group_words(patient.blood_group)
    if patient.weight_kg is not None:
        yield "Weight", f"{patient.weight_kg:g} kg"
    if patient.pregnant:
        yield "Pregnant", "yes"
    if patient.overload_risks:
        yield "Risk of overload", ", ".join(patient.overload_risks)


def unit_facts(picture: Picture, speech: Speech) -> tuple[tuple[str, str], ...]:
    """Answer the facts of the unit and its order as (term, value)."""
    return tuple(_unit(picture, speech))


def _unit(picture: Picture, speech: Speech) -> Iterator[tuple[str, str]]:
    episode, request = picture.episode, picture.case.request
    yield "Phase", PHASE[episode.phase]
    if episode.unit_number:
        yield "Unit number", episode.unit_number
    if episode.blood_group is not None:
        yield "Group of the unit", group_words(episode.blood_group)
    if episode.expires_at is not None:
        yield "Expires", speech.time(episode.expires_at)
    if request.priority is not Priority.ROUTINE:
        yield "Urgency", PRIORITY[request.priority]
    yield from _order(picture, speech)


def _order(picture: Picture, speech: Speech) -> Iterator[tuple[str, str]]:
    request = picture.case.request
    if request.max_rate_ml_h is not None:
        yield "Ceiling of the order", f"{request.max_rate_ml_h:g} mL/h"
    if request.duration_minutes is not None:
        yield "Ordered over", f"{request.duration_minutes} min"
    if request.not_before is not None:
        yield "Not before", speech.time(request.not_before)
    if request.wanted_by is not None:
        yield "Wanted by", speech.time(request.wanted_by)
    if request.requirements:
        yield "Requirements", ", ".join(words_of(text) for text in request.requirements)
    if picture.infusion.drops_per_min is not None:
        per_ml = drops_per_ml_of(picture.episode, picture.case.line, picture.case.policy)
        yield "Gravity set", f"{picture.infusion.drops_per_min} drops/min at {per_ml} drops/mL"
    if request.history:
        yield "Record", "read in from elsewhere"
