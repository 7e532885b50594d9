"""The fold: the live events of one unit, in bedside order, become one episode.

The same events give the same episode whatever order they are handed over in. An event that the
phase does not allow raises `Refused`; a log that was checked on the way in never does.
"""

from collections.abc import Callable, Iterable
from dataclasses import replace
from typing import Any, Final

from server.domain.episode import (
    Acknowledgement,
    Assignment,
    Cause,
    Episode,
    Flow,
    LinkedWarning,
)
from server.domain.errors import Refused
from server.domain.events import Event, sorted_live
from server.domain.phases import require_allowed
from server.domain.reaction import close, suspect, tick_step
from server.domain.request import Request
from server.domain.words import Fate, Kind, Phase


def fold(request: Request, events: Iterable[Event]) -> Episode:
    """Answer the episode that `events` make of `request`.

    `events` are those of the episode and the observations of its patient, in any order.
    Raises `Refused` for the first event, in bedside order, that its phase does not allow.
    """
    listed = list(events)
    episode = Episode(
        request=request,
        revision=max((event.position for event in listed), default=0),
        nurse_id=request.nurse_id,
        volume_ml=request.volume_ml,
    )
    for event in sorted_live(listed):
        require_allowed(event, episode.phase, history=request.history)
        apply = _APPLY.get(event.kind)
        if apply is not None:
            apply(episode, event, event.payload)
    return episode


def _available(episode: Episode, event: Event, _: Any) -> None:
    episode.phase = Phase.AVAILABLE
    episode.available_at = event.happened_at


def _issued(episode: Episode, event: Event, payload: Any) -> None:
    episode.phase = Phase.ISSUED
    episode.issued_at = event.happened_at
    episode.removed_at = payload.removed_at or event.happened_at
    episode.unit_number = payload.unit_number
    episode.product_code = payload.product_code
    episode.division = payload.division
    episode.blood_group = payload.blood_group
    episode.attributes = payload.attributes
    episode.expires_at = payload.expires_at
    if payload.volume_ml is not None:
        episode.volume_ml = payload.volume_ml


def _received(episode: Episode, event: Event, _: Any) -> None:
    episode.received_at = event.happened_at


def _inspected(episode: Episode, event: Event, payload: Any) -> None:
    episode.inspected_at = event.happened_at
    if episode.inspection is None or not episode.inspection.findings:
        # A finding stands until it is voided: looking again does not mend a bag.
        episode.inspection = payload


def _identity_checked(episode: Episode, event: Event, payload: Any) -> None:
    episode.identity_at = event.happened_at
    episode.identity = payload


def _observed(episode: Episode, event: Event, _: Any) -> None:
    episode.observations.append(event)


def _confirmed(episode: Episode, event: Event, payload: Any) -> None:
    episode.confirmed[payload.step] = event


def _spiked(episode: Episode, event: Event, _: Any) -> None:
    episode.spiked_at = event.happened_at


def _set_hung(episode: Episode, event: Event, payload: Any) -> None:
    episode.hung.append(event.happened_at)
    episode.drops_per_ml = payload.drops_per_ml


def _started(episode: Episode, event: Event, payload: Any) -> None:
    episode.phase = Phase.RUNNING
    episode.started_at = event.happened_at
    episode.spiked_at = episode.spiked_at or event.happened_at
    episode.override_reason = payload.override_reason
    episode.flow.append(Flow(event.happened_at, rate_ml_h=payload.rate_ml_h))


def _rate_set(episode: Episode, event: Event, payload: Any) -> None:
    episode.flow.append(Flow(event.happened_at, rate_ml_h=payload.rate_ml_h))


def _volume_read(episode: Episode, event: Event, payload: Any) -> None:
    episode.flow.append(Flow(event.happened_at, given_ml=payload.given_ml))


def _paused(episode: Episode, event: Event, _: Any) -> None:
    episode.phase = Phase.PAUSED
    episode.flow.append(Flow(event.happened_at, rate_ml_h=0.0))


def _resumed(episode: Episode, event: Event, payload: Any) -> None:
    episode.phase = Phase.RUNNING
    rate = payload.rate_ml_h
    if rate is None:
        # The rate before the pause: the last flow is the pause itself.
        rates = [flow.rate_ml_h for flow in episode.flow if flow.rate_ml_h is not None]
        rate = rates[-2]
    episode.flow.append(Flow(event.happened_at, rate_ml_h=rate))


def _ended(episode: Episode, event: Event, payload: Any) -> None:
    episode.phase = Phase.ENDED
    episode.ended_at = episode.moved_at = event.happened_at
    episode.stopped_reason = payload.reason if event.kind is Kind.STOPPED else None
    episode.flow.append(Flow(event.happened_at, rate_ml_h=0.0))
    if payload.given_ml is not None:
        episode.flow.append(Flow(event.happened_at, given_ml=payload.given_ml))


def _returned(episode: Episode, event: Event, _: Any) -> None:
    _moved_away(episode, event, Phase.RETURNED, Fate.RETURNED)


def _discarded(episode: Episode, event: Event, _: Any) -> None:
    _moved_away(episode, event, Phase.DISCARDED, Fate.DISCARDED)


def _moved_away(episode: Episode, event: Event, phase: Phase, fate: Fate) -> None:
    episode.moved_at = event.happened_at
    if episode.ended_at is None:
        # A unit that was never started has no other fate; an emptied bag still needs one.
        episode.phase = phase
        episode.fate = fate
        episode.fate_at = event.happened_at


def _cancelled(episode: Episode, event: Event, _: Any) -> None:
    episode.phase = Phase.CANCELLED
    episode.moved_at = event.happened_at


def _fate(episode: Episode, event: Event, payload: Any) -> None:
    never_given = episode.started_at is None
    if never_given and payload.fate in (Fate.TRANSFUSED, Fate.PART_TRANSFUSED):
        raise Refused(
            f"fate {payload.fate}: the unit was never started",
            phase=episode.phase,
            field="fate",
        )
    episode.phase = Phase.CLOSED
    episode.fate = payload.fate
    if episode.fate_at is None:
        episode.fate_at = event.happened_at


def _reaction_suspected(episode: Episode, event: Event, payload: Any) -> None:
    suspect(episode.reactions, event, payload)


def _reaction_step(episode: Episode, event: Event, payload: Any) -> None:
    if not tick_step(episode.reactions, event, payload):
        _refuse_without_reaction(episode, event)


def _reaction_closed(episode: Episode, event: Event, payload: Any) -> None:
    if not close(episode.reactions, event, payload):
        _refuse_without_reaction(episode, event)


def _refuse_without_reaction(episode: Episode, event: Event) -> None:
    raise Refused(f"{event.kind}: no reaction is suspected", phase=episode.phase)


def _warned(episode: Episode, event: Event, payload: Any) -> None:
    where = (payload.episode_id, payload.bed, payload.unit_number)
    episode.warnings.append(LinkedWarning(event.happened_at, event.id, *where))


def _warning_checked(episode: Episode, event: Event, _: Any) -> None:
    """Who checks a unit checks it against every warning that stands."""
    episode.warnings[:] = [
        replace(one, checked_at=one.checked_at or event.happened_at) for one in episode.warnings
    ]


def _assigned(episode: Episode, event: Event, payload: Any) -> None:
    episode.nurse_id = payload.nurse_id
    episode.assignments.append(Assignment(event.happened_at, payload.nurse_id))


def _acknowledged(episode: Episode, event: Event, payload: Any) -> None:
    episode.acknowledgements.append(
        Acknowledgement(event.happened_at, payload.clock, payload.staff_id)
    )


def _cause_given(episode: Episode, event: Event, payload: Any) -> None:
    cause = Cause(payload.clock, payload.n, payload.cause, payload.text, event.recorded_at)
    episode.causes.append(cause)


_APPLY: Final[dict[Kind, Callable[[Episode, Event, Any], None]]] = {
    Kind.AVAILABLE: _available,
    Kind.ISSUED: _issued,
    Kind.RECEIVED: _received,
    Kind.INSPECTED: _inspected,
    Kind.IDENTITY_CHECKED: _identity_checked,
    Kind.OBSERVED: _observed,
    Kind.CONFIRMED: _confirmed,
    Kind.SPIKED: _spiked,
    Kind.SET_HUNG: _set_hung,
    Kind.SET_CHANGED: _set_hung,
    Kind.STARTED: _started,
    Kind.RATE_SET: _rate_set,
    Kind.VOLUME_READ: _volume_read,
    Kind.PAUSED: _paused,
    Kind.RESUMED: _resumed,
    Kind.STOPPED: _ended,
    Kind.COMPLETED: _ended,
    Kind.RETURNED: _returned,
    Kind.DISCARDED: _discarded,
    Kind.CANCELLED: _cancelled,
    Kind.FATE: _fate,
    Kind.REACTION_SUSPECTED: _reaction_suspected,
    Kind.REACTION_STEP: _reaction_step,
    Kind.REACTION_CLOSED: _reaction_closed,
    Kind.WARNED: _warned,
    Kind.WARNING_CHECKED: _warning_checked,
    Kind.ASSIGNED: _assigned,
    Kind.ACKNOWLEDGED: _acknowledged,
    Kind.CAUSE_GIVEN: _cause_given,
}
