"""Generated units that were late at something, and facts moved by hand to ask the engine again.

The moving here is written apart from the code that is tested: it drops what the pathway does not
allow after an act that came earlier, where the code brings it forward.
"""

from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime, timedelta
from typing import Final

from hypothesis import strategies as st

from server.domain.events import Event, sorted_live
from server.domain.facts import HungSet
from server.domain.payloads import (
    Completed,
    Discarded,
    FateRecorded,
    Issued,
    Paused,
    Payload,
    RateSet,
    ReactionClosed,
    ReactionSuspected,
    Received,
    Resumed,
    Returned,
    SetChanged,
    SetHung,
    Spiked,
    Started,
    Stopped,
    VolumeRead,
)
from server.domain.picture import Case, picture
from server.domain.why.attempt import Act, Way
from server.domain.why.earlier import Avoided
from server.domain.why.rerun import Key
from server.domain.words import Component, Fate, Kind
from tests.domain.builders import CHECKED, COMMON, FULL, KIND_OF, PARTIAL, SOUND, at, case

NOW: Final = at(4 * 24 * 60)
MINUTE: Final = timedelta(minutes=1)

Draw = st.DrawFn

# The whole pathway with a shorter life of the set, so that it is outlived within a unit.
POLICY: Final = replace(
    COMMON,
    version="late",
    giving_set_life=timedelta(hours=3),
    finish_from=("removed", "issued"),
)
FROM_THE_START: Final = replace(POLICY, version="start", finish_from=("spiked", "started"))


def _seconds(draw: Draw, low: int, high: int) -> timedelta:
    """Minutes with seconds that like to be whole minutes."""
    minutes = draw(st.integers(low, high))
    return timedelta(minutes=minutes, seconds=draw(st.sampled_from([0, 0, 1, 29, 59])))


class Late:
    """A generated unit, told in short: the whole case with its policy fills pages."""

    def __init__(self, unit: Case) -> None:
        """A case whose facts its words are made of."""
        self.unit = unit

    def __repr__(self) -> str:
        """Its policy, component and facts by their times."""
        facts = (f"{one.happened_at:%d %H:%M:%S} {one.payload!r}" for one in self.unit.events)
        request = self.unit.request
        return "\n".join((self.unit.policy.version, request.component, *facts))


@st.composite
def late_units(draw: Draw) -> Late:
    """Units that were late at something, or at nothing."""
    return Late(draw(_units()))


@st.composite
def _units(draw: Draw) -> Case:
    """A unit on its whole way, with each step now in time and now late."""
    told: list[tuple[datetime, Payload]] = []
    issued = at(0)
    removed = draw(st.sampled_from([None, at(-15)]))
    expires = draw(st.sampled_from([None, None, at(200)]))
    told.append((issued, Issued(removed_at=removed, expires_at=expires)))
    came = issued + _seconds(draw, 1, 25)
    told += [(came, Received()), (came + MINUTE, SOUND), (came + 2 * MINUTE, CHECKED)]
    if draw(st.integers(0, 7)) == 0:
        back = came + _seconds(draw, 3, 90)
        away: list[Payload] = [Returned(), Discarded("torn")]
        told.append((back, draw(st.sampled_from(away))))
        if draw(st.booleans()):
            told.append((back + _seconds(draw, 0, 500), FateRecorded(Fate.DISCARDED)))
        return _case(draw, told)
    start = came + _seconds(draw, 3, 60)
    for before in draw(st.lists(st.integers(-12, 70), max_size=2)):
        told.append((start - before * MINUTE, draw(st.sampled_from([FULL, FULL, PARTIAL]))))
    hung = draw(st.sampled_from([SetHung(), Spiked(), None]))
    if hung is not None:
        told.append((start - draw(st.integers(0, 2)) * MINUTE, hung))
    told.append((start, Started(draw(st.sampled_from([50, 60, 120])))))
    if draw(st.integers(0, 9)) > 0:
        _run(draw, told, start)
    return _case(draw, told)


def _run(draw: Draw, told: list[tuple[datetime, Payload]], start: datetime) -> None:
    end = start + _seconds(draw, 12, 400)
    flow: list[tuple[datetime, Payload]] = [
        (start + _seconds(draw, 16, 30), RateSet(draw(st.sampled_from([40, 75, 150])))),
        (start + _seconds(draw, 60, 90), Paused("lost access")),
        (start + _seconds(draw, 91, 130), Resumed(draw(st.sampled_from([None, 60, 100])))),
        (start + _seconds(draw, 140, 200), RateSet(draw(st.sampled_from([30, 90])))),
        (start + _seconds(draw, 201, 230), SetChanged()),
        (start + _seconds(draw, 231, 260), VolumeRead(draw(st.sampled_from([100, 180])))),
    ]
    told += [fact for fact in flow if fact[0] < end]
    if draw(st.booleans()):
        since = start + _seconds(draw, 20, 60)
        told.append((since, ReactionSuspected(("fever",))))
        if since + 100 * MINUTE < end:
            told.append((since + 100 * MINUTE, ReactionClosed("none")))
    sets = draw(st.lists(st.integers(1, 480), max_size=7, unique=True))
    told += [
        (start + minute * MINUTE, draw(st.sampled_from([FULL, FULL, PARTIAL]))) for minute in sets
    ]
    if draw(st.integers(0, 5)) == 0:
        return
    endings: list[Payload] = [Completed(), Completed(given_ml=250), Stopped("fever")]
    told.append((end, draw(st.sampled_from(endings))))
    if draw(st.booleans()):
        fate = draw(st.sampled_from([Fate.TRANSFUSED, Fate.PART_TRANSFUSED]))
        told.append((end + _seconds(draw, 10, 700), FateRecorded(fate)))


def _case(draw: Draw, told: Iterable[tuple[datetime, Payload]]) -> Case:
    return case(
        *sorted(told, key=lambda fact: fact[0]),
        policy=draw(st.sampled_from([POLICY, POLICY, FROM_THE_START])),
        component=draw(st.sampled_from([Component.RED_CELLS, Component.PLATELETS])),
        volume_ml=draw(st.sampled_from([280.0, 280.0, None])),
        max_rate_ml_h=draw(st.sampled_from([None, 100.0])),
        line=draw(st.sampled_from([(), (HungSet(at(-10), Component.RED_CELLS),)])),
    )


def is_breached(unit: Case, key: Key, now: datetime = NOW) -> bool:
    """Whether the engine finds the limit not kept."""
    return any((one.clock, one.n) == key for one in picture(unit, now).breaches)


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
