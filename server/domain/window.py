"""Which of a patient's observations concern one unit.

Observations belong to the patient. One unit takes those from a look back before its first fact
to the end of its late watch; anything wider may be handed over, and is cut to the same window.
"""

from collections.abc import Iterable
from datetime import datetime, timedelta
from typing import Final

from server.domain.events import ORDER, Event, sorted_live
from server.domain.payloads import Voided
from server.domain.policy import Policy
from server.domain.request import Request
from server.domain.words import Kind

ENDINGS: Final = frozenset({Kind.STOPPED, Kind.COMPLETED})

Window = tuple[datetime, datetime | None]


def concerning(request: Request, policy: Policy, events: Iterable[Event]) -> tuple[Event, ...]:
    """Answer the episode's own events with the observations inside its window, in order."""
    listed = sorted(events, key=ORDER)
    own = [event for event in listed if event.kind is not Kind.OBSERVED]
    first, last = observation_window(request, policy, own)
    dropped = {
        event.id
        for event in listed
        if event.kind is Kind.OBSERVED
        and event.episode_id != request.id
        and not (first <= event.happened_at and (last is None or event.happened_at <= last))
    }
    if not dropped:
        return tuple(listed)
    return tuple(
        event
        for event in listed
        if event.id not in dropped
        and not (isinstance(event.payload, Voided) and event.payload.event_id in dropped)
    )


def observation_window(request: Request, policy: Policy, own: list[Event]) -> Window:
    """Answer from when and until when observations count; None: until further notice.

    Voided facts still open the window, so that a correction never takes a set away; only an end
    that stands closes it.
    """
    begun = [event.happened_at for event in own if event.kind is not Kind.VOIDED]
    begun.append(request.requested_at or request.recorded_at)
    look_back = max(policy.observations_look_back, policy.baseline_limit)
    ended: list[datetime] = []
    if any(event.kind in ENDINGS for event in own):
        ended = [event.happened_at for event in sorted_live(own) if event.kind in ENDINGS]
    last = max(policy.late_watch, policy.end_limit) + timedelta(seconds=1)
    return min(begun) - look_back, ended[-1] + last if ended else None
