"""One unit in full: its picture, its events with who recorded them, what is still missing."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from server.domain.assessment import Assessment, assess
from server.domain.events import Event
from server.domain.gate import Gap, gaps_before_start
from server.domain.payloads import Voided
from server.domain.picture import Picture, observations_shown, picture
from server.domain.words import Phase
from server.services.actor import Actor
from server.services.cases import cases_of, reading
from server.services.errors import NotFound
from server.services.permissions import Act, require
from server.services.record_event import RecordedOn
from server.store.requests import read_request
from server.store.sessions import ReadSession
from server.store.staff import staff_names
from server.store.wards import Ward, read_ward


@dataclass(frozen=True, slots=True)
class EpisodeRead:
    """One unit at an instant. `events` holds voided ones and voids too, in bedside order.

    `assessments` say what each of `observations` shows, in the same order. `voided_by` maps the
    id of a voided event to the void. `gaps` are what the policy wants before the start, empty
    once started. `names` maps staff ids to names.
    """

    at: datetime
    ward: Ward
    picture: Picture
    events: tuple[Event, ...]
    observations: tuple[Event, ...]
    assessments: tuple[Assessment, ...]
    voided_by: Mapping[str, Event]
    gaps: tuple[Gap, ...]
    names: Mapping[str, str]

    @property
    def missing(self) -> tuple[str, ...]:
        """What has to come before the start, in words."""
        return tuple(gap.detail for gap in self.gaps)


_WHO: Final = ("first_by", "second_by", "nurse_id", "staff_id")
"""The fields of payloads that hold somebody's id."""


def read_episode(
    session: ReadSession,
    actor: Actor,
    episode_id: str,
    *,
    now: datetime,
    at: datetime | None = None,
    known_at: datetime | None = None,
) -> EpisodeRead:
    """Answer one unit.

    Raises `NotFound`, also for one not yet recorded then, `Forbidden`, `Unreadable`.
    """
    request = read_request(session, episode_id)
    ward = None if request is None else read_ward(session, request.ward_id)
    if request is None or ward is None:
        raise NotFound("the episode")
    require(actor, Act.READ, ward.id)
    if known_at is not None and request.recorded_at > known_at:
        raise NotFound("the episode, as known then,")
    instant = at or now
    named = {episode_id: request}
    with reading(request):
        case = cases_of(session, named, now=instant, at=at, known_at=known_at)[episode_id]
        looked = picture(case.known(at=at, known_at=known_at), instant)
        return _read(session, ward, looked, instant)


def read_recorded(session: ReadSession, recorded: RecordedOn, *, now: datetime) -> EpisodeRead:
    """Answer the unit that a fact has just been recorded on, in the same transaction.

    What it looks like is known already: `read_episode` would say the same.
    """
    looked = recorded.picture
    with reading(looked.case.request):
        return _read(session, recorded.ward, looked, now)


def _read(session: ReadSession, ward: Ward, looked: Picture, instant: datetime) -> EpisodeRead:
    case, episode = looked.case, looked.episode
    unstarted = episode.phase in (Phase.REQUESTED, Phase.AVAILABLE, Phase.ISSUED)
    facts = case.facts_of(episode)
    people = _people(case.events)
    if episode.nurse_id is not None:
        people.add(episode.nurse_id)
    observations = observations_shown(case, instant)
    return EpisodeRead(
        at=instant,
        ward=ward,
        picture=looked,
        events=case.events,
        observations=observations,
        assessments=assess(case, episode, observations),
        voided_by={
            event.payload.event_id: event
            for event in case.events
            if isinstance(event.payload, Voided)
        },
        gaps=gaps_before_start(facts, instant) if unstarted else (),
        names=staff_names(session, people),
    )


def _people(events: Sequence[Event]) -> set[str]:
    """The ids of all whom the events name: on this ward now, or long since elsewhere."""
    named = {
        who
        for event in events
        for who in (event.staff_id, *(getattr(event.payload, name, None) for name in _WHO))
        if who is not None
    }
    return named | {event.recorded_by for event in events}
