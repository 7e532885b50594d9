"""Facts moved by hand to ask the engine again, written apart from the code that is tested.

It drops what the pathway does not allow after an act that came earlier, where the code brings it
forward.
"""

from dataclasses import replace
from datetime import datetime, timedelta
from typing import Final

from server.domain.errors import Refused
from server.domain.events import Event, sorted_live
from server.domain.payloads import (
    Completed,
    FateRecorded,
    Issued,
    Payload,
    RateSet,
    Resumed,
    Returned,
    SetChanged,
    Started,
    Stopped,
)
from server.domain.picture import Case, picture
from server.domain.why.attempt import Act, Way
from server.domain.why.earlier import Avoided
from server.domain.why.rerun import Key
from server.domain.words import Fate, Kind
from tests.domain.builders import FULL, KIND_OF, at

NOW: Final = at(4 * 24 * 60)
MINUTE: Final = timedelta(minutes=1)


def is_breached(unit: Case, key: Key, now: datetime = NOW) -> bool:
    """Whether the engine finds the limit not kept."""
    return any((one.clock, one.n) == key for one in picture(unit, now).breaches)


def is_kept(unit: Case, key: Key) -> bool:
    """Whether the limit is kept, by acts that were possible: none is after the end."""
    try:
        return not is_breached(unit, key)
    except Refused:
        return False


def moved_by(unit: Case, avoided: Avoided, steps: int) -> Case:
    """The unit with the act moved by so many minutes; one that was not done, to a second.

    0 is what happened: an act that was not recorded is left out.
    """
    live = sorted_live(unit.events)
    if steps == 0:
        return _told(unit, live)
    if avoided.way in (Way.BY, Way.ANY):
        return _told(unit, _with_supposed(live, avoided, avoided.at))
    if avoided.way is Way.WHOLE:
        return _told(unit, [_whole(one) if one.id == avoided.event_id else one for one in live])
    by = steps * MINUTE
    act = next(one for one in live if one.id == avoided.event_id)
    if avoided.act is Act.START:
        return _told(unit, _start_earlier(live, act, by))
    if avoided.act is Act.ISSUE:
        return _told(unit, _issue_later(live, act, by))
    to = act.happened_at + (by if avoided.way is Way.LATER else -by)
    return _told(unit, _alone(live, act, to))


def a_second_late(unit: Case, avoided: Avoided) -> Case:
    """The unit with an act that was not recorded, done a second after `avoided` has it."""
    late = avoided.at + timedelta(seconds=1)
    return _told(unit, _with_supposed(sorted_live(unit.events), avoided, late))


def _start_earlier(live: list[Event], act: Event, by: timedelta) -> list[Event]:
    start, place = act.happened_at - by, live.index(act)
    before = [replace(one, happened_at=min(one.happened_at, start)) for one in live[:place]]
    return before + [replace(one, happened_at=one.happened_at - by) for one in live[place:]]


def _issue_later(live: list[Event], act: Event, by: timedelta) -> list[Event]:
    start = next(one for one in live if one.kind is Kind.STARTED)
    first, last = live.index(act), live.index(start)
    issue = replace(act, happened_at=act.happened_at + by)
    if isinstance(issue.payload, Issued) and issue.payload.removed_at is not None:
        gone = issue.payload.removed_at + by
        issue = replace(issue, payload=replace(issue.payload, removed_at=gone))
    steps = {Kind.RECEIVED, Kind.INSPECTED, Kind.IDENTITY_CHECKED, Kind.SPIKED}
    between = [
        replace(one, happened_at=min(one.happened_at + by, start.happened_at))
        if one.kind in steps
        else replace(one, happened_at=max(one.happened_at, issue.happened_at))
        if one.kind in (Kind.SET_HUNG, Kind.SET_CHANGED)
        else one
        for one in live[first + 1 : last]
    ]
    return [*live[:first], issue, *between, *live[last:]]


_OVER_AT_THE_END: Final = frozenset(
    {Kind.RATE_SET, Kind.PAUSED, Kind.RESUMED, Kind.SET_HUNG, Kind.SET_CHANGED, Kind.VOLUME_READ}
)


def _alone(live: list[Event], act: Event, to: datetime) -> list[Event]:
    """The act at another instant; what an end or a return does not allow after it is dropped."""
    payload = act.payload
    if isinstance(payload, Completed | Stopped):
        payload = replace(payload, given_ml=None)
    kept = [
        one
        for one in live
        if one is not act
        and not (to < one.happened_at <= act.happened_at and _is_over(one, act.kind))
    ]
    place = sum(one.happened_at <= to for one in kept)
    return [*kept[:place], replace(act, happened_at=to, payload=payload), *kept[place:]]


def _is_over(one: Event, ending: Kind) -> bool:
    if ending in (Kind.STOPPED, Kind.COMPLETED):
        return one.kind in _OVER_AT_THE_END
    return ending in (Kind.RETURNED, Kind.DISCARDED) and one.kind in (
        Kind.RECEIVED,
        Kind.INSPECTED,
        Kind.IDENTITY_CHECKED,
    )


_SUPPOSED: Final[dict[Act, Payload]] = {
    Act.START: Started(50),
    Act.RETURN: Returned(),
    Act.SET: FULL,
    Act.END: Stopped("done"),
    Act.SET_CHANGE: SetChanged(),
    Act.FATE: FateRecorded(Fate.DISCARDED),
}


def _with_supposed(live: list[Event], avoided: Avoided, to: datetime) -> list[Event]:
    payload = _SUPPOSED[avoided.act]
    act = Event("new", KIND_OF[type(payload)], to, to, payload, "nurse-1", 0)
    kept = [
        one
        for one in live
        if not (avoided.act is Act.END and one.happened_at > to and one.kind in _OVER_AT_THE_END)
        and not (avoided.act is Act.RETURN and one.happened_at > to and one.kind in _BEFORE)
    ]
    place = sum(one.happened_at <= to for one in kept)
    return [*kept[:place], act, *kept[place:]]


_BEFORE: Final = frozenset({Kind.RECEIVED, Kind.INSPECTED, Kind.IDENTITY_CHECKED})


def _whole(event: Event) -> Event:
    return replace(event, payload=FULL)


def _told(unit: Case, events: list[Event]) -> Case:
    """The unit with these facts, charted as they happened, in this order within a second."""
    charted = (
        replace(one, recorded_at=one.happened_at, position=n) for n, one in enumerate(events, 1)
    )
    return replace(unit, events=tuple(charted))


def in_by_at_rate(unit: Case, rate: float, volume_ml: float, limit: datetime) -> datetime | None:
    """When a unit is in with one rate after the slow start, counted second by second; None: late.

    Pauses stay. The rates of the slow start are those that were recorded.
    """
    live = sorted_live(unit.events)
    start = next(one.happened_at for one in live if one.kind is Kind.STARTED)
    slow_until = start + unit.policy.rate_first
    given, now, present, is_paused = 0.0, start, 0.0, False
    while now <= limit:
        for one in live:
            if one.happened_at == now:
                if isinstance(one.payload, Started | RateSet) and now < slow_until:
                    present = one.payload.rate_ml_h
                elif isinstance(one.payload, Resumed) and now < slow_until:
                    present = one.payload.rate_ml_h or present
                is_paused = one.kind is Kind.PAUSED or (is_paused and one.kind is not Kind.RESUMED)
        if given >= volume_ml - 1e-6:
            return now
        flowing = rate if now >= slow_until else present
        given += 0 if is_paused else flowing / 3600
        now += timedelta(seconds=1)
    return None
