"""Open an episode directly: one unit for one patient."""

from collections.abc import Sequence
from dataclasses import dataclass, fields
from datetime import datetime

from server.domain import limits
from server.domain.payloads.values import require_text, require_within
from server.domain.request import Request
from server.domain.words import Component, Priority
from server.services.actor import Actor
from server.services.cases import reading, require_whole
from server.services.errors import Conflict, NotFound
from server.services.permissions import Act, require
from server.services.record_event import require_not_ahead
from server.services.refresh import refresh
from server.store.ids import new_id
from server.store.patients import read_patient
from server.store.requests import add_requests, read_request
from server.store.sessions import ReadSession, WriteSession
from server.store.wards import read_ward


@dataclass(frozen=True, slots=True)
class EpisodeDraft:
    """One unit as asked for. `requested_at` is the bedside time of the request, if known."""

    id: str | None
    patient_id: str
    ward_id: str
    bed: str
    component: Component
    volume_ml: float | None
    nurse_id: str | None = None
    requested_at: datetime | None = None
    history: bool = False


def open_episode(
    session: WriteSession, actor: Actor, draft: EpisodeDraft, *, now: datetime
) -> Request:
    """Open an episode. The same draft with the same id again answers what is there.

    Raises `Forbidden`, `NotFound`, `Conflict`, `Invalid`, `Unreadable`.
    """
    require(actor, Act.ORDER, draft.ward_id)
    require_place(session, draft.patient_id, draft.ward_id, draft.bed)
    require_within("volume_ml", draft.volume_ml, limits.VOLUME_ML)
    if draft.requested_at is not None:
        require_not_ahead("requested_at", draft.requested_at, now)
    present = read_request(session, draft.id) if draft.id is not None else None
    if present is not None:
        with reading(present):
            require_whole(present)
        return _same(present, draft)
    request = _request(draft, actor, now)
    keep_requests(session, [request], now=now)
    return request


def keep_requests(session: WriteSession, requests: Sequence[Request], *, now: datetime) -> None:
    """Keep new requests and work them out."""
    add_requests(session, requests)
    for request in requests:
        session.touch(request.ward_id, [request.id])
    refresh(session, [request.id for request in requests], now=now)


def require_place(session: ReadSession, patient_id: str, ward_id: str, bed: str) -> None:
    """Raise `NotFound` or `Invalid` unless patient and ward exist and the bed is a text."""
    if bed:
        require_text("bed", bed, limits.SHORT_TEXT)
    if read_ward(session, ward_id) is None:
        raise NotFound("the ward")
    if read_patient(session, patient_id) is None:
        raise NotFound("the patient")


def _request(draft: EpisodeDraft, actor: Actor, now: datetime) -> Request:
    return Request(
        id=draft.id or new_id(),
        patient_id=draft.patient_id,
        ward_id=draft.ward_id,
        bed=draft.bed,
        component=draft.component,
        recorded_at=now,
        recorded_by=actor.id,
        volume_ml=draft.volume_ml,
        priority=Priority.ROUTINE,
        nurse_id=draft.nurse_id,
        requested_at=draft.requested_at,
        history=draft.history,
    )


def _same(present: Request, draft: EpisodeDraft) -> Request:
    """Answer what is there if it is what is asked for: an importer may run again."""
    for name in (field.name for field in fields(draft)):
        if getattr(present, name) != getattr(draft, name):
            raise Conflict(f"an episode of this id exists with another {name}")
    return present
