"""What is stored about a unit for finding it again: worked out from its case, never typed in."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from server.domain.breaches import cause_of
from server.domain.changes import next_change_after
from server.domain.clock import BREACHED, Clock
from server.domain.episode import Episode
from server.domain.events import Event
from server.domain.picture import Case, Picture, picture
from server.domain.words import ClockState, Confirmation, Kind
from server.store.clock_states import ClockRecord
from server.store.states import EpisodeState

_REQUEST_LEAD: Final = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class Derived:
    """The derived rows of one unit at an instant."""

    picture: Picture
    state: EpisodeState
    clocks: tuple[ClockRecord, ...]


def derive(case: Case, now: datetime) -> Derived:
    """Work out the derived rows of a unit as they are at `now`."""
    looked = picture(case, now)
    return Derived(looked, _state(case, looked), _clocks(case, looked))


def clock_key(clock: Clock) -> str:
    """The name of one clock inside an episode."""
    return f"{clock.name}:{clock.n}"


def _state(case: Case, looked: Picture) -> EpisodeState:
    request, episode = case.request, looked.episode
    recorded = [event.recorded_at for event in case.events]
    return EpisodeState(
        episode_id=request.id,
        ward_id=request.ward_id,
        patient_id=request.patient_id,
        bed=request.bed,
        component=request.component,
        priority=request.priority,
        phase=episode.phase,
        level=looked.urgency.level,
        revision=episode.revision,
        recorded_at=request.recorded_at,
        last_recorded_at=max([request.recorded_at, *recorded]),
        first_at=stands_from(case),
        open_until=looked.open_until,
        next_change_at=next_change_after(looked),
        nurse_id=episode.nurse_id,
        removed_at=episode.removed_at,
        issued_at=episode.issued_at,
        started_at=episode.started_at,
        ended_at=episode.ended_at,
        reassessed_at=_reassessed_at(episode),
        fate=episode.fate,
        fate_at=episode.fate_at,
        states={clock_key(clock): state.value for clock, state in looked.clocks},
    )


def _reassessed_at(episode: Episode) -> datetime | None:
    said = episode.confirmed.get(Confirmation.REASSESSED)
    return None if said is None else said.happened_at


def stands_from(case: Case) -> datetime | None:
    """Answer from when the unit belongs on a board of the past; None: on any.

    Without the bedside time of the request it is taken to have stood for a day before the first
    fact, or since it was recorded if that is longer ago. A bedside clock that is a little ahead
    does not keep a request off the board of now.
    """
    request = case.request
    happened = [event.happened_at for event in case.events if _is_own(case, event)]
    if request.requested_at is None:
        led = [instant - _REQUEST_LEAD for instant in happened]
        return min([request.recorded_at, *led]) if led else None
    asked = request.requested_at
    return min([asked if request.history else min(asked, request.recorded_at), *happened])


def _is_own(case: Case, event: Event) -> bool:
    return event.episode_id == case.request.id and event.kind is not Kind.VOIDED


def _clocks(case: Case, looked: Picture) -> tuple[ClockRecord, ...]:
    return tuple(_record(case, looked.episode, *one) for one in looked.clocks)


def _record(case: Case, episode: Episode, clock: Clock, state: ClockState) -> ClockRecord:
    breached_at = clock.limit_at if state in BREACHED else None
    given = None if breached_at is None else cause_of(clock, breached_at, episode.causes)
    return ClockRecord(
        episode_id=case.request.id,
        ward_id=case.request.ward_id,
        clock=clock.name,
        n=clock.n,
        opens_at=clock.opens_at,
        due_at=clock.due_at,
        limit_at=clock.limit_at,
        met_at=clock.met_at,
        state=state,
        breached_at=breached_at,
        component=case.request.component,
        nurse_id=episode.nurse_at(clock.limit_at),
        cause=None if given is None else given.cause,
    )
