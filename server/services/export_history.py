"""Export history: what was given on a ward, as records that can be read in again."""

from collections.abc import Iterable, Iterator
from datetime import datetime
from typing import Final

from server.domain.audit import AuditAct, Subject, SubjectKind
from server.domain.events import Event, sorted_live
from server.domain.payloads import Observed
from server.domain.picture import Picture
from server.domain.words import Kind
from server.services.actor import Actor
from server.services.audit import note
from server.services.enter_ward import read_ward
from server.services.history import HistoryEpisode, HistoryObservation
from server.services.history_episodes import COMPLETED
from server.services.sound_cases import read_soundly, sound_pictures
from server.store.board import begun_episode_ids
from server.store.episode_events import events_of_episodes
from server.store.requests import read_requests
from server.store.sessions import ReadSession, WriteSession

BATCH: Final = 200


def export_episodes(
    session: ReadSession, actor: Actor, ward_id: str, *, now: datetime
) -> Iterator[HistoryEpisode]:
    """Answer every unit of a ward that was started. Raises `NotFound`, `Forbidden`, at once."""
    read_ward(session, actor, ward_id)
    return _episodes(session, ward_id, now)


def note_export(session: WriteSession, actor: Actor, ward_id: str, *, now: datetime) -> None:
    """Note that the history of a ward is taken away. Raises `NotFound`, `Forbidden`."""
    read_ward(session, actor, ward_id)
    subject = Subject(SubjectKind.HISTORY)
    note(session, actor, AuditAct.EXPORTED, subject, now=now, ward_id=ward_id)


def _episodes(session: ReadSession, ward_id: str, now: datetime) -> Iterator[HistoryEpisode]:
    for ids in _batches(session, ward_id, now):
        for looked in sound_pictures(session, ids, now=now).values():
            start = _start_of(looked.case.events)
            if start is not None:
                yield _episode(looked, start)


def export_observations(
    session: ReadSession, actor: Actor, ward_id: str, *, now: datetime
) -> Iterator[HistoryObservation]:
    """Answer every set of vital signs of the patients who had units on a ward.

    Raises `NotFound`, `Forbidden`, at once.
    """
    read_ward(session, actor, ward_id)
    return _observations(session, ward_id, now)


def _observations(
    session: ReadSession, ward_id: str, now: datetime
) -> Iterator[HistoryObservation]:
    seen: set[str] = set()
    for ids in _batches(session, ward_id, now):
        requests = read_requests(session, ids)
        events = read_soundly(requests, lambda some: events_of_episodes(session, some.values()))
        for episode_id, told in events.items():
            for event in sorted_live(told):
                if event.kind is Kind.OBSERVED and event.id not in seen:
                    seen.add(event.id)
                    yield _observation(event, requests[episode_id].patient_id)


def _batches(session: ReadSession, ward_id: str, now: datetime) -> Iterator[tuple[str, ...]]:
    ids = begun_episode_ids(session, ward_id, now)
    for start in range(0, len(ids), BATCH):
        yield ids[start : start + BATCH]


def _start_of(events: Iterable[Event]) -> Event | None:
    return next((event for event in sorted_live(events) if event.kind is Kind.STARTED), None)


def _episode(looked: Picture, start: Event) -> HistoryEpisode:
    request, patient, episode = looked.case.request, looked.case.patient, looked.episode
    ended = episode.ended_at is not None
    return HistoryEpisode(
        line=0,
        episode_id=request.id,
        patient_id=request.patient_id,
        birth_date=patient.birth_date,
        weight_kg=patient.weight_kg,
        ward_id=request.ward_id,
        bed=request.bed,
        component=request.component,
        volume_ml=episode.volume_ml,
        removed_at=episode.removed_at,
        issued_at=episode.issued_at,
        started_at=start.happened_at,
        rate_ml_h=_first_rate(looked),
        ended_at=episode.ended_at,
        given_ml=round(looked.infusion.given_ml, 2) if ended else None,
        end_reason=(episode.stopped_reason or COMPLETED) if ended else None,
        recorded_at=start.recorded_at,
    )


def _first_rate(looked: Picture) -> float | None:
    return looked.episode.flow[0].rate_ml_h if looked.episode.flow else None


def _observation(event: Event, patient_id: str) -> HistoryObservation:
    assert isinstance(event.payload, Observed)  # noqa: S101 - the kind says so
    return HistoryObservation(
        line=0,
        patient_id=patient_id,
        happened_at=event.happened_at,
        observed=event.payload,
        recorded_at=event.recorded_at,
    )
