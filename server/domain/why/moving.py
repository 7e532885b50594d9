"""Facts told with one act at another time, and with what that act takes along.

All functions take the facts that count in bedside order and answer them in the order in which they
would have come. Nothing is moved further than the order of the pathway needs.
"""

from collections.abc import Callable, Iterable
from dataclasses import replace
from datetime import datetime, timedelta
from typing import Final, TypeAlias

from server.domain.events import Event
from server.domain.payloads import Completed, Issued, Observed, Payload, Stopped
from server.domain.phases import allowed_phases
from server.domain.words import Consciousness, Kind, Phase

Told: TypeAlias = tuple[Event, ...]

AWAY: Final = frozenset({Kind.RETURNED, Kind.DISCARDED})
BEFORE_START: Final = frozenset({Phase.ISSUED})
ANY_PHASE: Final = frozenset(Phase)

WHOLE_SET: Final = Observed(
    temperature_c=37.0,
    pulse_per_min=80,
    respirations_per_min=16,
    systolic_mmhg=120,
    diastolic_mmhg=80,
    spo2_percent=97,
    on_oxygen=False,
    consciousness=Consciousness.ALERT,
)
"""A set that has every sign. Its values play no part: clocks ask when a full set was taken."""


def place_of(events: Told, kinds: Iterable[Kind]) -> int | None:
    """Answer where the first fact of these kinds stands, None where there is none."""
    wanted = frozenset(kinds)
    return next((place for place, event in enumerate(events) if event.kind in wanted), None)


def moved(event: Event, by: timedelta) -> Event:
    """The same fact so much later, earlier where `by` is negative."""
    return replace(event, happened_at=event.happened_at + by)


def start_earlier(events: Told, place: int, by: timedelta) -> Told:
    """The start, at `place`, that much earlier, with everything after it.

    What has to come before the start is moved to it where it would be overtaken, a baseline
    set included; what lies before it stays, and so do remarks, which may come at any time.
    """
    start = events[place].happened_at - by
    before = (event if _is_remark(event) else _no_later(event, start) for event in events[:place])
    return (*before, *(moved(event, -by) for event in events[place:]))


def act_earlier(events: Told, place: int, by: timedelta, into: Phase | None = None) -> Told:
    """The fact at `place` that much earlier, alone.

    `into` is the phase that it leads to: what this phase does not allow, and would now come after
    the act, comes with it at the latest.
    """
    act = moved(events[place], -by)
    before = (_not_after(event, act.happened_at, into) for event in events[:place])
    return (*before, _without_reading(act), *events[place + 1 :])


def act_later(events: Told, place: int, by: timedelta) -> Told:
    """The fact at `place` that much later, alone."""
    return (*events[:place], moved(events[place], by), *events[place + 1 :])


def issue_later(events: Told, issue: int, last: int, by: timedelta) -> Told:
    """The issue that much later, the way to the ward as long as it was.

    The steps between the issue and the fact at `last` come later by as much, and no later than it.
    """
    latest = events[last].happened_at
    between = (
        _no_later(moved(event, by), latest) if allowed_phases(event) == BEFORE_START else event
        for event in events[issue + 1 : last]
    )
    return (*events[:issue], _issued_later(events[issue], by), *between, *events[last:])


def added(events: Told, act: Event, into: Phase | None = None) -> Told:
    """The facts with one more; what its phase does not allow after it comes with it at the latest.

    An act that ended nothing (`into` None) keeps everything where it is.
    """
    at = act.happened_at
    earlier = [event for event in events if event.happened_at <= at]
    later = [event for event in events if event.happened_at > at]
    overtaken = [_not_after(event, at, into) for event in later]
    before = [event for event in overtaken if event.happened_at <= at]
    return (*earlier, *before, act, *(event for event in overtaken if event.happened_at > at))


def set_made_whole(events: Told, place: int) -> Told:
    """The set at `place` with every sign taken."""
    whole = replace(events[place], payload=WHOLE_SET)
    return (*events[:place], whole, *events[place + 1 :])


def act_at(kind: Kind, payload: Payload, at: datetime) -> Event:
    """A fact that was never recorded, for asking what it would have changed."""
    return Event(f"supposed-{kind}", kind, at, at, payload, "", 0)


def _no_later(event: Event, at: datetime) -> Event:
    return event if event.happened_at <= at else replace(event, happened_at=at)


def _is_remark(event: Event) -> bool:
    return event.kind is not Kind.OBSERVED and allowed_phases(event) == ANY_PHASE


def _not_after(event: Event, at: datetime, into: Phase | None) -> Event:
    """What may not come after an act that leads to a phase comes with it at the latest."""
    stays = into is None or into in allowed_phases(event)
    return event if stays else _no_later(event, at)


def _issued_later(event: Event, by: timedelta) -> Event:
    later, payload = moved(event, by), event.payload
    if isinstance(payload, Issued) and payload.removed_at is not None:
        return replace(later, payload=replace(payload, removed_at=payload.removed_at + by))
    return later


def _without_reading(event: Event) -> Event:
    """An end at another time has not given what was read at the end that was recorded."""
    if isinstance(event.payload, Completed | Stopped):
        return replace(event, payload=replace(event.payload, given_ml=None))
    return event


Retell: TypeAlias = Callable[[int], Told]
"""The facts with an act moved by so many steps."""
