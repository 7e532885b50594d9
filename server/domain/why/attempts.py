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
    AWAY,
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
from server.domain.window import ENDINGS
from server.domain.words import Kind, Phase

DAY: Final = timedelta(days=1)


def earlier_start(asked: Asked, most: int | None = None) -> Iterator[Attempt]:
    """The start, no earlier than the issue; of a record without an issue by up to a day."""
    start, issue = _first(asked, Kind.STARTED), _first(asked, Kind.ISSUED)
    assert start is not None  # noqa: S101 - asked of a clock that a start met or began
    place, event = start
    room = DAY if issue is None else event.happened_at - issue[1].happened_at

    def tell(steps: int) -> Told:
        return start_earlier(asked.events, place, steps * MINUTE)

    farthest = room // MINUTE
    limit = farthest if most is None else min(farthest, most)
    yield Attempt(Act.START, Way.EARLIER, event.happened_at, -MINUTE, limit, tell, event)


def later_issue(asked: Asked) -> Iterator[Attempt]:
    """The issue, no later than the start, which stays."""
    issue, start = _first(asked, Kind.ISSUED), _first(asked, Kind.STARTED)
    if issue is None or start is None:
        return
    (place, event), (last, started) = issue, start
    room = (started.happened_at - event.happened_at) // MINUTE

    def tell(steps: int) -> Told:
        return issue_later(asked.events, place, last, steps * MINUTE)

    yield Attempt(Act.ISSUE, Way.LATER, event.happened_at, MINUTE, room, tell, event)


def _first(asked: Asked, kind: Kind) -> tuple[int, Event] | None:
    place = place_of(asked.events, [kind])
    return None if place is None else (place, asked.events[place])


def earlier_return(asked: Asked) -> Iterator[Attempt]:
    """A unit that went back, or was thrown away, without ever being started."""
    place, issued = place_of(asked.events, AWAY), asked.run.facts.episode.issued_at
    if place is None or issued is None or asked.run.facts.episode.started_at is not None:
        return
    thrown = isinstance(asked.events[place].payload, Discarded)
    into = Phase.DISCARDED if thrown else Phase.RETURNED
    yield earlier_act(asked, Act.RETURN, place, issued, into)


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
    """A full set that was never recorded."""
    return act_by(asked, Act.SET, Kind.OBSERVED, WHOLE_SET)


def act_by(
    asked: Asked, act: Act, kind: Kind, payload: Payload, into: Phase | None = None
) -> Attempt:
    """An act that was never recorded, second by second back from when nothing could keep the limit.

    That is not always the second after the limit: while no set has met the first check, any set
    moves the running check, which then counts from it.
    """
    over = max(asked.limit_at, asked.clock.over_at or asked.now) + SECOND
    opens = asked.clock.opens_at or asked.limit_at

    def tell(steps: int) -> Told:
        return added(asked.events, act_at(kind, payload, over - steps * SECOND), into)

    return Attempt(act, Way.BY, over, -SECOND, (over - opens) // SECOND, tell)
