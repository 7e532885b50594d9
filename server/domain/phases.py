"""Which event each phase allows, and the words for a refusal."""

from typing import Final

from server.domain.confirmations import STEPS, phases_of
from server.domain.errors import Refused
from server.domain.events import Event
from server.domain.words import Kind, Phase

_BEFORE_ISSUE: Final = frozenset({Phase.REQUESTED, Phase.AVAILABLE})
_ISSUED: Final = frozenset({Phase.ISSUED})
_RUNNING: Final = frozenset({Phase.RUNNING})
_GIVING: Final = frozenset({Phase.RUNNING, Phase.PAUSED})
_ANY: Final = frozenset(Phase)

ALLOWED: Final[dict[Kind, frozenset[Phase]]] = {
    Kind.AVAILABLE: frozenset({Phase.REQUESTED}),
    Kind.ISSUED: _BEFORE_ISSUE,
    Kind.RECEIVED: _ISSUED,
    Kind.INSPECTED: _ISSUED,
    Kind.IDENTITY_CHECKED: _ISSUED,
    Kind.OBSERVED: _ANY,
    Kind.CONFIRMED: frozenset[Phase]().union(*(step.phases for step in STEPS.values())),
    Kind.SPIKED: _ISSUED,
    Kind.SET_HUNG: _ISSUED | _GIVING,
    Kind.SET_CHANGED: _ISSUED | _GIVING,
    Kind.FLUSHED: _GIVING | {Phase.ENDED, Phase.CLOSED},
    Kind.STARTED: _ISSUED,
    Kind.RATE_SET: _RUNNING,
    Kind.VOLUME_READ: _GIVING | {Phase.ENDED},
    Kind.PAUSED: _RUNNING,
    Kind.RESUMED: frozenset({Phase.PAUSED}),
    Kind.REACTION_SUSPECTED: _GIVING | {Phase.ENDED, Phase.CLOSED},
    Kind.REACTION_STEP: _GIVING | {Phase.ENDED, Phase.CLOSED},
    Kind.REACTION_CLOSED: _GIVING | {Phase.ENDED, Phase.CLOSED},
    Kind.WARNED: _ANY,
    Kind.WARNING_CHECKED: _ANY,
    Kind.STOPPED: _GIVING,
    Kind.COMPLETED: _GIVING,
    Kind.RETURNED: _ISSUED | {Phase.ENDED},
    Kind.DISCARDED: _ISSUED | {Phase.ENDED},
    Kind.CANCELLED: _BEFORE_ISSUE,
    Kind.FATE: frozenset({Phase.ENDED, Phase.RETURNED, Phase.DISCARDED}),
    Kind.ASSIGNED: _ANY,
    Kind.ACKNOWLEDGED: _ANY,
    Kind.NOTE: _ANY,
    Kind.CAUSE_GIVEN: _ANY,
    Kind.VOIDED: _ANY,
}


def require_allowed(event: Event, phase: Phase, *, history: bool) -> None:
    """Raise `Refused` if `phase` does not allow `event`.

    A record read in from elsewhere may start without an issue: often nobody charted one.
    """
    if phase in allowed_phases(event):
        return
    if history and event.kind is Kind.STARTED and phase in _BEFORE_ISSUE:
        return
    raise Refused(refusal_reason(event, phase), phase=phase)


def allowed_phases(event: Event) -> frozenset[Phase]:
    """Answer the phases that allow `event`; a confirmation has its own by step."""
    return phases_of(event.payload) or ALLOWED[event.kind]


def refusal_reason(event: Event, phase: Phase) -> str:
    """Say which phase the event meets and which it would need."""
    allowed = [name.value for name in Phase if name in allowed_phases(event)]
    return (
        f"{event.kind} at {event.happened_at:%H:%M:%S} UTC is not possible: "
        f"the episode is {phase} then; expected {' or '.join(allowed)}"
    )
