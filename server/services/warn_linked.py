"""Warn of an identity error at every unit of other patients that it may concern."""

from collections.abc import Iterable, Iterator
from datetime import datetime

from server.domain.events import Event
from server.domain.fold import fold
from server.domain.linked import IdentityError, concerns
from server.domain.payloads import ReactionStep, Warned
from server.domain.picture import Case
from server.domain.window import concerning
from server.domain.words import Kind, Recheck
from server.services.actor import SYSTEM
from server.services.sound_cases import follow_soundly, sound_cases
from server.store.board import live_episode_ids
from server.store.ids import new_id
from server.store.log import append_events, next_position
from server.store.sessions import WriteSession


def warn_linked(session: WriteSession, case: Case, event: Event, *, now: datetime) -> list[str]:
    """Record the warnings that `event` of `case` gives rise to; answers the units warned of.

    Only the step that found the wrong unit or patient does. A unit that carries an unchecked
    warning of the same wrong unit is not warned of twice.
    """
    if not isinstance(event.payload, ReactionStep) or event.payload.result is not Recheck.WRONG:
        return []
    wrong = fold(case.request, concerning(case.request, case.policy, [*case.events, event]))
    payload = Warned(case.request.id, case.request.bed, wrong.unit_number)
    error = IdentityError(wrong, event.happened_at)
    warned: list[str] = []
    for other in _concerned(_near(session, case, event, now), error, case):
        warning = _warning(session, event, payload, other.request.id, now)
        patient_id, ward_id = other.request.patient_id, other.request.ward_id
        append_events(session, [warning], patient_id=patient_id, ward_id=ward_id)
        warned.append(other.request.id)
    session.touch(case.request.ward_id, warned)
    return warned


def _near(session: WriteSession, case: Case, event: Event, now: datetime) -> Iterable[Case]:
    """The ward's units that were on the board when the error was found."""
    ids = live_episode_ids(session, case.request.ward_id, event.happened_at)
    return sound_cases(session, ids, now=now).cases.values()


def _concerned(cases: Iterable[Case], error: IdentityError, case: Case) -> Iterator[Case]:
    listed = {one.request.id: one for one in cases}
    episodes = follow_soundly(listed.values(), lambda one: fold(one.request, one.events))
    for episode_id, episode in episodes.items():
        said = {warning.episode_id for warning in episode.open_warnings}
        if case.request.id not in said and concerns(error, episode, case.policy.reaction_linked):
            yield listed[episode_id]


def _warning(
    session: WriteSession, event: Event, payload: Warned, episode_id: str, now: datetime
) -> Event:
    return Event(
        id=new_id(),
        kind=Kind.WARNED,
        happened_at=event.happened_at,
        recorded_at=now,
        payload=payload,
        recorded_by=SYSTEM.id,
        position=next_position(session),
        episode_id=episode_id,
    )
