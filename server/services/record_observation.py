"""Record a set of vital signs on the patient: it serves every unit whose window it falls in."""

from datetime import datetime

from server.domain.payloads import Observed
from server.domain.request import Request
from server.domain.words import Kind
from server.services.actor import Actor
from server.services.errors import Forbidden, NotFound
from server.services.permissions import Act, require
from server.services.record_event import (
    Draft,
    Recorded,
    new_event,
    require_born,
    require_not_ahead,
)
from server.services.refresh import refresh
from server.services.touched import units_near
from server.store.log import append_events
from server.store.patients import read_patient
from server.store.requests import requests_of_patient
from server.store.sessions import ReadSession, WriteSession


def record_observation(
    session: WriteSession,
    actor: Actor,
    patient_id: str,
    observed: Observed,
    *,
    happened_at: datetime,
    now: datetime,
    staff_id: str | None = None,
) -> Recorded:
    """Record a set for a patient. Raises `NotFound`, `Forbidden`, `Invalid`."""
    patient = read_patient(session, patient_id)
    if patient is None:
        raise NotFound("the patient")
    ward_id = _ward_of(session, actor, patient_id)
    require_not_ahead("happened_at", happened_at, now)
    require_born(patient, happened_at)
    draft = Draft(Kind.OBSERVED, happened_at, observed, staff_id)
    event = new_event(session, actor, draft, episode_id=None, now=now)
    append_events(session, [event], patient_id=patient_id, ward_id=ward_id)
    near = [unit.episode_id for unit in units_near(session, patient_id, happened_at)]
    refresh(session, near, now=now)
    return Recorded(event.id, event.position)


def _ward_of(session: ReadSession, actor: Actor, patient_id: str) -> str | None:
    """The ward the set is charted on: the latest of the patient's that is one of the actor's."""
    require(actor, Act.CHART)
    requests = requests_of_patient(session, patient_id)
    allowed = [request for request in requests if actor.is_on(request.ward_id)]
    if requests and not allowed:
        raise Forbidden("this patient is not on one of your wards")
    return _latest(allowed)


def _latest(requests: list[Request]) -> str | None:
    return requests[-1].ward_id if requests else None
