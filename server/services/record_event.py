"""Record one fact about a unit: checked against everything known, stored, worked out."""

from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Final

from server.domain.episode import Episode
from server.domain.errors import Invalid
from server.domain.events import Event, sorted_live
from server.domain.fold import fold
from server.domain.gate import require_start
from server.domain.issued_units import MOVES_UNITS
from server.domain.payloads import Issued, Payload, Started, Voided
from server.domain.picture import Case, Picture
from server.domain.reaction_gate import require_reaction_sound
from server.domain.request import Patient, Request
from server.domain.window import concerning
from server.domain.words import Kind
from server.services.actor import Actor
from server.services.cases import CaseRead, holds_now, read_on_ward, reading
from server.services.errors import Conflict, Overtaken, StaleRevision, Unreadable
from server.services.hold_unit import hold_unit, require_free
from server.services.permissions import act_of, require
from server.services.plain_facts import with_plain
from server.services.raise_reminders import note_acknowledgements
from server.services.refresh import refresh
from server.services.touched import SHOWN_ON_OTHERS, affected_units
from server.services.warn_linked import warn_linked
from server.store.ids import new_id
from server.store.log import append_events, next_position
from server.store.sessions import WriteSession
from server.store.wards import Ward

AHEAD: Final = timedelta(minutes=2)
"""How far a bedside clock may be ahead of the server's."""


@dataclass(frozen=True, slots=True)
class Draft:
    """A fact as somebody wants it recorded. `staff_id` is who did it, where it was another.

    `seen_revision` is how far in the log its author had read: facts of the same kind that others
    recorded after it have to be looked at first.
    An `id` that is given is kept: it must be new to the whole log.
    """

    kind: Kind
    happened_at: datetime
    payload: Payload
    staff_id: str | None = None
    expected_revision: int | None = None
    id: str | None = None
    seen_revision: int | None = None


@dataclass(frozen=True, slots=True)
class Recorded:
    """The fact is in the log; `revision` is the episode's from now on."""

    event_id: str
    revision: int


@dataclass(frozen=True, slots=True)
class RecordedOn(Recorded):
    """The same of a unit, with what it looks like now, and its ward."""

    picture: Picture
    ward: Ward


def record_event(
    session: WriteSession,
    actor: Actor,
    episode_id: str,
    draft: Draft,
    *,
    now: datetime,
    ahead: CaseRead | None = None,
) -> RecordedOn:
    """Record a fact about a unit; `ahead` is its case as read before the turn, reaching to it.

    Raises `NotFound`, `Forbidden`, `StaleRevision`, `Overtaken`, `Invalid` for a value, `Refused`
    where the phase or the policy does not allow it, `Conflict` for a bag that another request
    holds, `Unreadable` where the unit cannot be followed. Then nothing is stored.
    """
    if ahead is not None and holds_now(session, ahead):
        read = ahead
    else:
        read = read_on_ward(session, episode_id, now=now, reaching=draft.happened_at)
    case = read.case
    require(actor, act_of(draft.kind, _voided_kind(case, draft)), case.request.ward_id)
    _require_sound_instants(case, draft, now)
    revision = session.touch(case.request.ward_id, [episode_id])
    _require_revision(case, draft)
    _require_seen(case, actor, draft)
    event = new_event(session, actor, draft, episode_id=episode_id, now=now)
    episode = _require_possible(case, event)
    if event.kind in MOVES_UNITS:
        require_free(session, episode)
        hold_unit(session, episode)
    looked = _store(session, case, event, now)
    ward = replace(read.ward, revision=revision)
    return RecordedOn(event.id, event.position, looked, ward)


def _voided_kind(case: Case, draft: Draft) -> Kind | None:
    """The kind of the fact that a void takes back; None for any other fact, or an unknown one."""
    if not isinstance(draft.payload, Voided):
        return None
    void = draft.payload
    return next((event.kind for event in case.events if event.id == void.event_id), None)


def new_event(
    session: WriteSession, actor: Actor, draft: Draft, *, episode_id: str | None, now: datetime
) -> Event:
    """Make the event of a draft, next in the log."""
    return Event(
        id=draft.id or new_id(),
        kind=draft.kind,
        happened_at=draft.happened_at,
        recorded_at=now,
        payload=draft.payload,
        recorded_by=actor.id,
        position=next_position(session),
        staff_id=draft.staff_id or actor.staff_id,
        episode_id=episode_id,
    )


def require_born(patient: Patient, happened_at: datetime) -> None:
    """Refuse an observation from before the patient was born."""
    if patient.birth_date is not None and happened_at.date() < patient.birth_date:
        raise Invalid("happened_at", "lies before the patient was born")


def require_not_ahead(field: str, instant: datetime, now: datetime) -> None:
    """Refuse a fact that lies further ahead than bedside clocks may differ."""
    if instant > now + AHEAD:
        raise Invalid(field, "lies in the future; expected an instant that has come")


def _require_sound_instants(case: Case, draft: Draft, now: datetime) -> None:
    require_not_ahead("happened_at", draft.happened_at, now)
    if isinstance(draft.payload, Issued) and draft.payload.removed_at is not None:
        require_not_ahead("removed_at", draft.payload.removed_at, now)
    if draft.kind is Kind.OBSERVED:
        require_born(case.patient, draft.happened_at)


def _require_revision(case: Case, draft: Draft) -> None:
    if draft.expected_revision is None:
        return
    present = max((event.position for event in case.events), default=0)
    if draft.expected_revision != present:
        raise StaleRevision(present)


def _require_seen(case: Case, actor: Actor, draft: Draft) -> None:
    """Refuse what somebody else has recorded meanwhile, as long as the author has not seen it."""
    if draft.seen_revision is None:
        return
    meanwhile = [
        event
        for event in sorted_live(case.events)
        if event.kind is draft.kind
        and event.position > draft.seen_revision
        and event.recorded_by != actor.id
    ]
    if meanwhile:
        raise Overtaken(meanwhile)


def _require_possible(case: Case, event: Event) -> Episode:
    """Fold everything known with the new fact in its place: any refusal is the new fact's."""
    if isinstance(event.payload, Voided):
        _require_voidable(case, event.payload)
    episode = _fold_with(case, event)
    if case.request.history:
        return episode
    require_reaction_sound(episode, case.policy, event.payload, event.happened_at)
    if isinstance(event.payload, Started):
        require_start(case.facts_of(episode), event.payload)
    return episode


def _fold_with(case: Case, event: Event) -> Episode:
    """Fold with the new fact; who cannot be followed without it either is not the fact's fault.

    A void may take away what kept the unit from being followed.
    """
    try:
        return fold(case.request, concerning(case.request, case.policy, [*case.events, event]))
    except Exception:
        with reading(case.request):
            fold(case.request, case.events)
        raise


def _require_voidable(case: Case, void: Voided) -> None:
    target = next((event for event in case.events if event.id == void.event_id), None)
    if target is None or target.kind is Kind.VOIDED:
        raise Invalid("event_id", "is no event of this episode; expected one that can be voided")
    if any(
        isinstance(event.payload, Voided) and event.payload.event_id == target.id
        for event in case.events
    ):
        raise Conflict("that event is voided already")


def _store(session: WriteSession, case: Case, event: Event, now: datetime) -> Picture:
    request = case.request
    append_events(session, [event], patient_id=request.patient_id, ward_id=request.ward_id)
    target = _target(case, event)
    others = _touch_others(session, request, target) + warn_linked(session, case, event, now=now)
    plain = with_plain(case, [event])
    looked = refresh(
        session,
        {request.id, *others},
        now=now,
        reaching=event.happened_at,
        known={} if plain is None else {request.id: plain},
    )
    if request.id not in looked:
        raise Unreadable(request)
    if target.kind is Kind.ACKNOWLEDGED:
        note_acknowledgements(session, looked[request.id])
    return looked[request.id]


def _touch_others(session: WriteSession, request: Request, fact: Event) -> list[str]:
    """The patient's other units that the fact concerns.

    A set on the line moves their limits, and a suspected reaction holds them.
    """
    units = affected_units(session, request, fact)
    for unit in units if fact.kind in SHOWN_ON_OTHERS else ():
        session.touch(unit.ward_id, [unit.episode_id])
    return [unit.episode_id for unit in units]


def _target(case: Case, event: Event) -> Event:
    """The fact that matters to others: of a void, the one it takes away, at its own instant."""
    if not isinstance(event.payload, Voided):
        return event
    voided = next(item for item in case.events if item.id == event.payload.event_id)
    return replace(event, kind=voided.kind, happened_at=voided.happened_at)
