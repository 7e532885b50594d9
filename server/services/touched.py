"""Which other units of the patient a fact about one of them concerns."""

from datetime import datetime, timedelta
from typing import Final

from server.domain.events import Event
from server.domain.request import Request
from server.domain.words import Kind
from server.store.requests import requests_of_patient
from server.store.sessions import ReadSession
from server.store.states import EpisodeState, read_states

ON_THE_LINE: Final = frozenset({Kind.SET_HUNG, Kind.SET_CHANGED})
HOLDING: Final = frozenset({Kind.REACTION_SUSPECTED, Kind.REACTION_CLOSED})
SHOWN_ON_OTHERS: Final = ON_THE_LINE | HOLDING
SHARED: Final = SHOWN_ON_OTHERS | {Kind.OBSERVED}
_AROUND: Final = timedelta(hours=217)  # the widest look back and watch a policy may set, together


def affected_units(session: ReadSession, request: Request, event: Event) -> list[EpisodeState]:
    """Answer the patient's units near the fact, if it is one that units share."""
    if event.kind not in SHARED:
        return []
    return units_near(session, request.patient_id, event.happened_at)


def units_near(session: ReadSession, patient_id: str, at: datetime) -> list[EpisodeState]:
    """Answer the patient's units that an instant may lie in the window of; too many, never few."""
    ids = [other.id for other in requests_of_patient(session, patient_id)]
    return [state for state in read_states(session, ids).values() if _is_near(state, at)]


def _is_near(state: EpisodeState, at: datetime) -> bool:
    first = state.first_at or state.started_at or state.issued_at
    begun = first is None or at >= first - _AROUND
    return begun and (state.ended_at is None or at <= state.ended_at + _AROUND)
