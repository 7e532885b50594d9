"""What a record of one set of vital signs means."""

from datetime import datetime
from hashlib import sha256

from server.domain.encoding import encode, write_instant
from server.domain.errors import Invalid
from server.domain.events import Event
from server.domain.words import Kind
from server.services.actor import Actor
from server.services.history import HistoryObservation
from server.services.record_event import require_born, require_not_ahead
from server.store.log import append_events, next_position, read_event
from server.store.patients import read_patient
from server.store.requests import requests_of_patient
from server.store.sessions import WriteSession


def keep_observation(
    session: WriteSession, actor: Actor, observation: HistoryObservation, *, now: datetime
) -> bool:
    """Store one set; False if an earlier run did. Raises `Invalid`."""
    patient = read_patient(session, observation.patient_id)
    if patient is None:
        raise Invalid("patient_id", f"{observation.patient_id} is unknown; expected a patient")
    require_not_ahead("happened_at", observation.happened_at, now)
    recorded_at = observation.recorded_at or now
    require_not_ahead("recorded_at", recorded_at, now)
    require_born(patient, observation.happened_at)
    event_id = _identity(observation)
    if read_event(session, event_id) is not None:
        return False
    requests = requests_of_patient(session, patient.id)
    event = Event(
        id=event_id,
        kind=Kind.OBSERVED,
        happened_at=observation.happened_at,
        recorded_at=recorded_at,
        payload=observation.observed,
        recorded_by=actor.id,
        position=next_position(session),
    )
    ward_id = requests[-1].ward_id if requests else None
    append_events(session, [event], patient_id=patient.id, ward_id=ward_id)
    return True


def _identity(observation: HistoryObservation) -> str:
    """The same line gives the same id; a set that differs in any value is another set."""
    signs = sorted(encode(observation.observed).items())
    text = f"{observation.patient_id} {write_instant(observation.happened_at)} {signs}"
    return sha256(text.encode()).hexdigest()[:24]
