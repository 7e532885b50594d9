"""The events of episodes, and of their patients: few queries for however many episodes."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Final

from sqlalchemy import and_, bindparam, or_

from server.domain.events import ORDER, Event
from server.domain.payloads import Voided
from server.domain.request import Request
from server.domain.words import Kind
from server.store.event_rows import events_grouped, grouped_by
from server.store.sessions import ReadSession
from server.store.statements import IDS, in_chunks, one_of
from server.store.tables import EVENT

FIRST: Final = datetime(1, 1, 2, tzinfo=UTC)
LAST: Final = datetime(9999, 12, 30, tzinfo=UTC)

_IS_OBSERVED: Final = EVENT.c.kind == Kind.OBSERVED.value
_IS_VOID: Final = EVENT.c.kind == Kind.VOIDED.value
_POSTED: Final = one_of(EVENT.c.episode_id)
_OWN: Final = grouped_by(EVENT.c.episode_id, and_(_POSTED, ~_IS_OBSERVED))
_NEAR: Final = and_(
    EVENT.c.happened_at >= bindparam("earliest", type_=EVENT.c.happened_at.type),
    EVENT.c.happened_at <= bindparam("latest", type_=EVENT.c.happened_at.type),
)
_OF_PATIENTS: Final = grouped_by(
    EVENT.c.patient_id,
    and_(
        EVENT.c.patient_id.in_(bindparam("patients", expanding=True)),
        EVENT.c.kind.in_([Kind.OBSERVED.value, Kind.VOIDED.value]),
        or_(_IS_VOID, _POSTED, and_(_IS_OBSERVED, _NEAR)),
    ),
)


@dataclass(frozen=True, slots=True)
class Window:
    """From when until when, both included, observations are wanted; None: no bound."""

    from_at: datetime | None = None
    until: datetime | None = None

    def holds(self, at: datetime) -> bool:
        """Whether an instant lies inside."""
        begun = self.from_at is None or self.from_at <= at
        return begun and (self.until is None or at <= self.until)


ALWAYS: Final = Window()


def events_of_episode(
    session: ReadSession, request: Request, window: Window = ALWAYS
) -> tuple[Event, ...]:
    """The events of one episode, as `events_of_episodes` answers them for many."""
    return events_of_episodes(session, [request], {request.id: window})[request.id]


def events_of_episodes(
    session: ReadSession, requests: Iterable[Request], windows: Mapping[str, Window] | None = None
) -> dict[str, tuple[Event, ...]]:
    """The events of each episode by its id, in bedside order, voided ones and voids included.

    Observations belong to the patient: those inside the episode's window come with it wherever
    they were recorded, those recorded on it come in any case, and the voids of them follow.
    An episode without a window gets all. Two queries for every 500 episodes.
    """
    windows = windows or {}
    found: dict[str, tuple[Event, ...]] = {}
    for chunk in in_chunks(requests):
        own = _own_events(session, chunk)
        shared = _patients_events(session, chunk, windows)
        for request in chunk:
            window = windows.get(request.id, ALWAYS)
            served = _served(shared.get(request.patient_id, ()), request.id, window)
            merged = [*own.get(request.id, ()), *served]
            found[request.id] = tuple(sorted(merged, key=ORDER))
    return found


def _own_events(session: ReadSession, requests: Sequence[Request]) -> dict[str, list[Event]]:
    """What was recorded on each episode, its observations apart."""
    return events_grouped(session, _OWN, {IDS: [request.id for request in requests]})


def _patients_events(
    session: ReadSession, requests: Sequence[Request], windows: Mapping[str, Window]
) -> dict[str, list[Event]]:
    """The patients' observations that any of the windows can hold, and all of their voids."""
    wanted = [windows.get(request.id, ALWAYS) for request in requests]
    parameters = {
        IDS: [request.id for request in requests],
        "patients": sorted({request.patient_id for request in requests}),
        "earliest": min(window.from_at or FIRST for window in wanted),
        "latest": max(window.until or LAST for window in wanted),
    }
    return events_grouped(session, _OF_PATIENTS, parameters)


def _served(events: Iterable[Event], episode_id: str, window: Window) -> list[Event]:
    """Of one patient's observations and voids, those that one episode gets beside its own.

    A void follows what it voids, and that may be a void: each names a fact recorded before it.
    """
    served: list[Event] = []
    ids: set[str] = set()
    for event in sorted(events, key=lambda event: event.position):
        here = event.episode_id == episode_id
        if isinstance(event.payload, Voided):
            wanted = here or event.payload.event_id in ids
        else:
            wanted = here or window.holds(event.happened_at)
        if wanted:
            ids.add(event.id)
            served.append(event)
    return [event for event in served if not _is_own_void(event, episode_id)]


def _is_own_void(event: Event, episode_id: str) -> bool:
    """Whether it came with what was recorded on the episode itself."""
    return event.kind is Kind.VOIDED and event.episode_id == episode_id
