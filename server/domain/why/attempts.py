"""The attempts themselves: one act earlier, later, at the latest by an instant, or whole.

Each says how many steps its act can be moved before it is no longer the act of the clock.
"""

from collections.abc import Iterator
from datetime import datetime, timedelta
from typing import Final

from server.domain.clock import SECOND
from server.domain.events import Event
from server.domain.payloads import Discarded, Payload
from server.domain.why.attempt import MINUTE, Act, Asked, Attempt, Way
from server.domain.why.moving import (
    ENDINGS,
    WHOLE_SET,
    Retell,
    Told,
    act_at,
    act_earlier,
    act_later,
    added,
    issue_later,
    place_of,
    set_made_whole,
    start_earlier,
)
from server.domain.words import Kind, Phase

DAY: Final = timedelta(days=1)


def earlier_start(asked: Asked, most: int | None = None) -> Iterator[Attempt]:
    place = place_of(asked.events, [Kind.STARTED])
    if place is None:
        return
    issue = place_of(asked.events, [Kind.ISSUED])
    start = asked.events[place]
    room = DAY if issue is None else start.happened_at - asked.events[issue].happened_at

    def tell(steps: int) -> Told | None:
        return start_earlier(asked.events, steps * MINUTE)

    farthest = room // MINUTE
    limit = farthest if most is None else min(farthest, most)
    yield Attempt(Act.START, Way.EARLIER, start.happened_at, -MINUTE, limit, tell, start)


def later_issue(asked: Asked, until: Kind) -> Iterator[Attempt]:
    issue, last = (place_of(asked.events, [kind]) for kind in (Kind.ISSUED, until))
    if issue is None or last is None:
        return
    event, latest = asked.events[issue], asked.events[last].happened_at
    room = (latest - event.happened_at) // MINUTE

    def tell(steps: int) -> Told | None:
        return issue_later(asked.events, steps * MINUTE, until)

    yield Attempt(Act.ISSUE, Way.LATER, event.happened_at, MINUTE, room, tell, event)


def earlier_return(asked: Asked) -> Iterator[Attempt]:
    """A unit that went back, or was thrown away, without ever being started."""
    place = place_of(asked.events, [Kind.RETURNED, Kind.DISCARDED])
    issue = place_of(asked.events, [Kind.ISSUED])
    if place is None or issue is None or place_of(asked.events, [Kind.STARTED]) is not None:
        return
    thrown = isinstance(asked.events[place].payload, Discarded)
    into = Phase.DISCARDED if thrown else Phase.RETURNED
    yield earlier_act(asked, Act.RETURN, place, asked.events[issue].happened_at, into)


def earlier_end(asked: Asked) -> Iterator[Attempt]:
    place, start = place_of(asked.events, ENDINGS), asked.run.facts.episode.started_at
    if place is not None and start is not None:
        yield earlier_act(asked, Act.END, place, start, Phase.ENDED)


def earlier_act(
    asked: Asked, act: Act, place: int, earliest: datetime, into: Phase | None = None
) -> Attempt:
    event = asked.events[place]
    most = (event.happened_at - earliest) // MINUTE

    def tell(steps: int) -> Told:
        return act_earlier(asked.events, place, steps * MINUTE, into)

    return Attempt(act, Way.EARLIER, event.happened_at, -MINUTE, most, tell, event)


def later_set(asked: Asked, place: int, event: Event) -> Attempt:
    def tell(steps: int) -> Told:
        return act_later(asked.events, place, steps * MINUTE)

    most = (asked.limit_at - event.happened_at) // MINUTE
    return Attempt(Act.SET, Way.LATER, event.happened_at, MINUTE, most, tell, event)


def whole_sets(asked: Asked, opens: datetime) -> Iterator[Attempt]:
    """The last set in the window of the clock that lacked a sign, with every sign taken."""
    partial = [
        (place, event)
        for place, event in asked.partial_sets
        if opens <= event.happened_at <= asked.limit_at
    ]
    for place, event in partial[-1:]:
        yield Attempt(
            Act.SET, Way.WHOLE, event.happened_at, 0 * SECOND, 1, _whole(asked.events, place), event
        )


def _whole(events: Told, place: int) -> Retell:
    return lambda _: set_made_whole(events, place)


def by_set(asked: Asked) -> Attempt:
    return act_by(asked, Act.SET, Kind.OBSERVED, WHOLE_SET)


def act_by(
    asked: Asked, act: Act, kind: Kind, payload: Payload, into: Phase | None = None
) -> Attempt:
    """An act that was never recorded, second by second back from just after the limit."""
    late = asked.limit_at + SECOND
    opens = asked.clock.opens_at or asked.limit_at

    def tell(steps: int) -> Told:
        return added(asked.events, act_at(kind, payload, late - steps * SECOND), into)

    return Attempt(act, Way.BY, late, -SECOND, (late - opens) // SECOND, tell)
