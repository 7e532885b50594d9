"""The events of episodes, and of their patients: few queries for however many episodes."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from sqlalchemy import ColumnElement, and_, or_

from server.domain.events import Event
from server.domain.payloads import Voided
from server.domain.request import Request
from server.domain.words import Kind
from server.store.event_rows import events_grouped
from server.store.sessions import ReadSession
from server.store.statements import in_chunks
from server.store.tables import EVENT

_IS_OBSERVED: Final = EVENT.c.kind == Kind.OBSERVED.value
_IS_VOID: Final = EVENT.c.kind == Kind.VOIDED.value
_OF_PATIENT: Final = EVENT.c.kind.in_([Kind.OBSERVED.value, Kind.VOIDED.value])


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
            found[request.id] = tuple(sorted(merged, key=lambda event: event.order))
    return found


def _own_events(session: ReadSession, requests: Sequence[Request]) -> dict[str, list[Event]]:
    """What was recorded on each episode, its observations apart."""
    posted = EVENT.c.episode_id.in_([request.id for request in requests])
    return events_grouped(session, and_(posted, ~_IS_OBSERVED), EVENT.c.episode_id)


def _patients_events(
    session: ReadSession, requests: Sequence[Request], windows: Mapping[str, Window]
) -> dict[str, list[Event]]:
    """The patients' observations that any of the windows can hold, and all of their voids."""
    theirs = EVENT.c.patient_id.in_(sorted({request.patient_id for request in requests}))
    posted = EVENT.c.episode_id.in_([request.id for request in requests])
    near = _inside_any([windows.get(request.id, ALWAYS) for request in requests])
    wanted = and_(theirs, _OF_PATIENT, or_(_IS_VOID, posted, near))
    return events_grouped(session, wanted, EVENT.c.patient_id)


def _inside_any(windows: Sequence[Window]) -> ColumnElement[bool]:
    bounds = [_IS_OBSERVED]
    if all(window.from_at for window in windows):
        earliest = min(window.from_at for window in windows if window.from_at)
        bounds.append(EVENT.c.happened_at >= earliest)
    if all(window.until for window in windows):
        latest = max(window.until for window in windows if window.until)
        bounds.append(EVENT.c.happened_at <= latest)
    return and_(*bounds)


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
