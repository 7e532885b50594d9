"""What a record of one unit means: its facts, and what is doubtful about it."""

from collections import defaultdict
from collections.abc import Iterable, Iterator
from datetime import UTC, datetime
from typing import Final

from server.domain import limits
from server.domain.errors import Invalid
from server.domain.events import Event
from server.domain.fold import fold
from server.domain.payloads import (
    Completed,
    FateRecorded,
    Issued,
    Payload,
    Started,
    Stopped,
)
from server.domain.payloads.values import require_text, require_within
from server.domain.request import DamagedRequest, Patient, Request
from server.domain.words import Fate, Kind
from server.services.actor import Actor
from server.services.errors import Conflict
from server.services.history import HistoryEpisode, Remark
from server.services.record_event import require_not_ahead
from server.store.log import append_events, next_position, read_event
from server.store.patients import read_patient, save_patient
from server.store.requests import add_requests, read_request
from server.store.sessions import WriteSession

COMPLETED: Final = "completed"
# Two adult units: a line above it is several units charted as one (common practice, no source).
SEVERAL_UNITS_ML: Final = 568.0
_FILE: Final = "episodes"

Fact = tuple[Kind, datetime, Payload]


def keep_episode(
    session: WriteSession, actor: Actor, ward_id: str, episode: HistoryEpisode, *, now: datetime
) -> bool:
    """Store one record; False if an earlier run did. Raises `Invalid`, `Conflict`."""
    _require_sound(episode, now)
    recorded_at = episode.recorded_at or now
    request = _request(episode, ward_id, actor, recorded_at)
    events = _events(session, actor, episode, recorded_at)
    fold(request, events)
    present = read_request(session, episode.episode_id)
    if present is not None:
        return _require_same(session, present, request, events)
    _keep_patient(session, actor, episode, recorded_at)
    add_requests(session, [request])
    append_events(session, events, patient_id=episode.patient_id, ward_id=ward_id)
    return True


def facts_of_record(episode: HistoryEpisode) -> Iterator[Fact]:
    """Answer the facts a record states, in bedside order."""
    if episode.issued_at is not None:
        issued = Issued(removed_at=episode.removed_at, volume_ml=episode.volume_ml)
        yield Kind.ISSUED, episode.issued_at, issued
    yield Kind.STARTED, episode.started_at, Started(_rate(episode))
    ended = episode.ended_at
    if ended is None:
        return
    if episode.end_reason in (None, COMPLETED):
        yield Kind.COMPLETED, ended, Completed(episode.given_ml)
    else:
        yield Kind.STOPPED, ended, Stopped(str(episode.end_reason), episode.given_ml)
    yield Kind.FATE, ended, FateRecorded(_fate(episode))


def _rate(episode: HistoryEpisode) -> float:
    """The rate recorded; without one, the mean that the volume and the times imply."""
    if episode.rate_ml_h is not None:
        return episode.rate_ml_h
    volume = episode.given_ml if episode.given_ml is not None else episode.volume_ml
    if volume is None or episode.ended_at is None or episode.ended_at <= episode.started_at:
        return 0.0
    seconds = (episode.ended_at - episode.started_at).total_seconds()
    return min(volume * 3600 / seconds, limits.RATE_ML_H[1])


def _fate(episode: HistoryEpisode) -> Fate:
    given, volume = episode.given_ml, episode.volume_ml
    part = given is not None and volume is not None and given < volume
    whole = episode.end_reason in (None, COMPLETED) and not part
    return Fate.TRANSFUSED if whole else Fate.PART_TRANSFUSED


def _require_sound(episode: HistoryEpisode, now: datetime) -> None:
    for field in ("episode_id", "patient_id", "bed"):
        require_text(field, getattr(episode, field) or None, limits.SHORT_TEXT)
    require_text("end_reason", episode.end_reason)
    require_within("weight_kg", episode.weight_kg, limits.WEIGHT_KG)
    require_within("volume_ml", episode.volume_ml, limits.VOLUME_ML)
    for field in ("removed_at", "issued_at", "started_at", "ended_at", "recorded_at"):
        instant = getattr(episode, field)
        if instant is not None:
            require_not_ahead(field, instant, now)
    if episode.ended_at is not None and episode.ended_at < episode.started_at:
        raise Invalid("ended_at", "lies before started_at; expected it at or after")
    if episode.issued_at is not None and episode.issued_at > episode.started_at:
        raise Invalid("issued_at", "lies after started_at; expected it at or before")


def _request(episode: HistoryEpisode, ward_id: str, actor: Actor, recorded_at: datetime) -> Request:
    begun = [episode.removed_at, episode.issued_at, episode.started_at]
    return Request(
        id=episode.episode_id,
        patient_id=episode.patient_id,
        ward_id=ward_id,
        bed=episode.bed,
        component=episode.component,
        recorded_at=recorded_at,
        recorded_by=actor.id,
        volume_ml=episode.volume_ml,
        requested_at=min(at for at in begun if at is not None),
        history=True,
    )


def _events(
    session: WriteSession,
    actor: Actor,
    episode: HistoryEpisode,
    recorded_at: datetime,
) -> list[Event]:
    first = next_position(session)
    facts = facts_of_record(episode)
    return [
        Event(
            id=f"{episode.episode_id}.{kind}",
            kind=kind,
            happened_at=happened_at,
            recorded_at=recorded_at,
            payload=payload,
            recorded_by=actor.id,
            position=first + place,
            episode_id=episode.episode_id,
        )
        for place, (kind, happened_at, payload) in enumerate(facts)
    ]


def _require_same(
    session: WriteSession, present: Request, request: Request, events: list[Event]
) -> bool:
    """Pass over a record that is there already; refuse another one of the same id."""
    if isinstance(present, DamagedRequest):
        raise Conflict("episode_id: an episode of this id exists, and cannot be read")
    for name in ("patient_id", "ward_id", "bed", "component", "volume_ml", "history"):
        if getattr(present, name) != getattr(request, name):
            raise Conflict(f"episode_id: an episode of this id exists with another {name}")
    for event in events:
        logged = read_event(session, event.id)
        if logged is None or _fact(logged.event) != _fact(event):
            raise Conflict(f"episode_id: an episode of this id exists with another {event.kind}")
    return False


def _fact(event: Event) -> tuple[object, ...]:
    return event.happened_at, event.payload


def _keep_patient(
    session: WriteSession, actor: Actor, episode: HistoryEpisode, recorded_at: datetime
) -> None:
    """A record names no patient: the number it carries stands in, and what is known stays."""
    known = read_patient(session, episode.patient_id)
    patient = Patient(
        id=episode.patient_id,
        record_number=known.record_number if known else episode.patient_id,
        family_name=known.family_name if known else episode.patient_id,
        given_name=known.given_name if known else "",
        birth_date=(known.birth_date if known else None) or episode.birth_date,
        blood_group=known.blood_group if known else None,
        weight_kg=_weight(episode, known),
        pregnant=known.pregnant if known else None,
        overload_risks=known.overload_risks if known else (),
        spo2_scale=known.spo2_scale if known else None,
    )
    if patient != known:
        save_patient(session, patient, recorded_at=recorded_at, recorded_by=actor.id)


def _weight(episode: HistoryEpisode, known: Patient | None) -> float | None:
    """A weight changes: of somebody known from records only, the latest record tells it."""
    if known is None or (episode.weight_kg is not None and not _is_registered(known)):
        return episode.weight_kg
    return known.weight_kg if known.weight_kg is not None else episode.weight_kg


def _is_registered(patient: Patient) -> bool:
    """Whether somebody registered the patient: records bring no name."""
    return bool(patient.given_name)


def doubts_of(episode: HistoryEpisode, ward_id: str, known: Patient | None) -> list[Remark]:
    """Answer what somebody should look at in a record that was taken; `known` is its patient."""
    doubts = (
        *_patient_doubts(episode, known),
        *_beginning_doubts(episode, ward_id),
        *_flow_doubts(episode),
        *_end_doubts(episode),
    )
    return [Remark(_FILE, episode.line, text) for text in doubts]


def _patient_doubts(episode: HistoryEpisode, known: Patient | None) -> Iterator[str]:
    if known is None:
        return
    for name in ("birth_date", "weight_kg") if _is_registered(known) else ("birth_date",):
        told, stays = getattr(episode, name), getattr(known, name)
        if told is not None and stays is not None and told != stays:
            yield f"{name}: is {told}; {stays} was known and stays"


def _beginning_doubts(episode: HistoryEpisode, ward_id: str) -> Iterator[str]:
    if episode.ward_id not in (None, ward_id):
        yield f"ward_id: is {episode.ward_id}; taken onto {ward_id}"
    if episode.issued_at is None:
        yield "issued_at: is empty; no start, return or removal-based limit is owed"
    if episode.removed_at is not None and episode.issued_at is None:
        yield "removed_at: is given without issued_at and is not used"
    elif episode.removed_at is not None and episode.removed_at > episode.started_at:
        yield "removed_at: lies after started_at"


def _flow_doubts(episode: HistoryEpisode) -> Iterator[str]:
    if episode.rate_ml_h is None:
        yield f"rate_ml_h: is empty; {_rate(episode):.0f} mL/h was worked out from the times"
    if episode.volume_ml is None:
        yield "volume_ml: is empty; no end can be projected"
    elif episode.volume_ml >= SEVERAL_UNITS_ML:
        yield f"volume_ml: {episode.volume_ml:g} mL is likely several units charted as one"


def _end_doubts(episode: HistoryEpisode) -> Iterator[str]:
    if episode.ended_at is None:
        yield "ended_at: is empty; the unit counts as still running"
    elif episode.recorded_at is not None and episode.recorded_at < episode.ended_at:
        yield "ended_at: was recorded before it came; likely a planned end"
    if episode.end_reason is None and episode.ended_at is not None:
        yield "end_reason: is empty; taken as completed"


def overlap_doubts(episodes: Iterable[HistoryEpisode]) -> list[Remark]:
    """Answer which units of one patient ran at the same time."""
    by_patient: dict[str, list[HistoryEpisode]] = defaultdict(list)
    for episode in episodes:
        by_patient[episode.patient_id].append(episode)
    found: list[Remark] = []
    for units in by_patient.values():
        ordered = sorted(units, key=lambda unit: unit.started_at)
        longest = ordered[0]
        for unit in ordered[1:]:
            if unit.started_at < _end(longest):
                text = f"started_at: overlaps {longest.episode_id} of the same patient"
                found.append(Remark(_FILE, unit.line, text))
            longest = max(longest, unit, key=_end)
    return sorted(found, key=lambda remark: remark.line)


def _end(episode: HistoryEpisode) -> datetime:
    """When the unit ended; one without an end is still running."""
    return episode.ended_at or datetime.max.replace(tzinfo=UTC)
