"""Why a unit was not in by its limit: a late start, rates, pauses, an empty bag that hung on.

What each step left is asked of the engine: the spare minutes before and after it.
"""

from collections.abc import Iterator
from datetime import datetime
from itertools import zip_longest

from server.domain.clock import SECOND
from server.domain.events import Event
from server.domain.infusion import TOLERANCE, Infusion
from server.domain.payloads import Paused, Resumed
from server.domain.picture import picture
from server.domain.why.link import Fact, Link
from server.domain.why.rerun import retold
from server.domain.why.steady import slow_of, was_in_at
from server.domain.why.telling import Telling
from server.domain.window import ENDINGS
from server.domain.wording import span, whole_minutes
from server.domain.words import ClockName, Kind


def started_late(telling: Telling) -> Iterator[Link]:
    """The start came after its own limit; what that left, and whether it was enough at all."""
    start = telling.episode.started_at
    if start is None:
        return
    latest = _flow(telling, start - SECOND).latest_start_at
    own = next(
        (
            one.limit_at
            for one, _ in telling.asked.run.standing.clocks
            if one.name is ClockName.START
        ),
        None,
    )
    left = f"that left {span(max(0, whole_minutes(start, telling.limit_at)))}"
    if latest is not None and start > latest:
        rate = telling.asked.run.standing.infusion.permitted_rate_ml_h
        words = (
            f"Started at {telling.time(start)}: {left} for {telling.episode.volume_ml:g} mL; at "
            f"the permitted {rate:g} mL/h the latest start was {telling.time(latest)}."
        )
        yield Link(Fact.TOO_LITTLE_LEFT, start, words)
    elif own is not None and start > own:
        late = span(max(1, whole_minutes(own, start)))
        words = f"Started at {telling.time(start)}, {late} past its own limit: {left}."
        yield Link(Fact.STARTED_LATE, start, words)


def slow_for_long(telling: Telling) -> Iterator[Link]:
    """The rate of the slow start was kept for longer than a set and a change of it take."""
    slow_until, set_at = _slow_until(telling), _first_rate_at(telling)
    if slow_until is None or set_at is None:
        return
    if set_at <= slow_until + telling.policy.work_vitals or set_at > telling.limit_at:
        return
    rate = _flow(telling, set_at - SECOND).rate_ml_h or 0
    longer = span(whole_minutes(slow_until, set_at))
    words = (
        f"The first rate, {rate:g} mL/h, was kept until {telling.time(set_at)}, {longer} longer "
        "than the slow start lasts."
    )
    yield Link(Fact.SLOW_FOR_LONG, slow_until, words, set_at)


def rate_too_low(telling: Telling) -> Iterator[Link]:
    """The first rate after the slow start was below what was needed from there on."""
    slow_until, set_at = _slow_until(telling), _first_rate_at(telling)
    if slow_until is None:
        return
    at = slow_until if set_at is None else max(slow_until, set_at)
    ended = telling.episode.ended_at
    if ended is not None and ended <= at:
        return
    flow = _flow(telling, at)
    needed, rate = flow.needed_rate_ml_h, flow.rate_ml_h
    if needed is None or not rate or rate + TOLERANCE >= needed:
        return
    words = (
        f"The rate was too low from the start: {rate:g} mL/h at {telling.time(at)}, where "
        f"{_up(needed)} mL/h were needed for the {flow.left_ml or 0:.0f} mL that were left."
    )
    yield Link(Fact.RATE_TOO_LOW, at, words)


def _slow_until(telling: Telling) -> datetime | None:
    start = telling.episode.started_at
    return None if start is None else start + telling.policy.rate_first


def _first_rate_at(telling: Telling) -> datetime | None:
    """When the rate was first set after the start, None: never."""
    rates = (event for event in telling.asked.events if event.kind is Kind.RATE_SET)
    return next((event.happened_at for event in rates), None)


def rate_lowered(telling: Telling) -> Iterator[Link]:
    """A change to a lower rate, with the spare minutes that it took."""
    for event in telling.asked.events:
        if event.kind is not Kind.RATE_SET or event.happened_at > telling.limit_at:
            continue
        before, after = (
            _flow(telling, event.happened_at - SECOND),
            _flow(telling, event.happened_at),
        )
        if before.rate_ml_h and after.rate_ml_h is not None and after.rate_ml_h < before.rate_ml_h:
            words = (
                f"The rate was lowered at {telling.time(event.happened_at)} from "
                f"{before.rate_ml_h:g} to {after.rate_ml_h:g} mL/h{_spare(before, after)}."
            )
            yield Link(Fact.RATE_LOWERED, event.happened_at, words, event_ids=(event.id,))


def paused(telling: Telling) -> Iterator[Link]:
    """A pause, how long it lasted, what was given as its reason, and the spare that it took."""
    for event, over in _pauses(telling):
        until = telling.asked.now if over is None else over.happened_at
        before = _flow(telling, event.happened_at - SECOND)
        after = None if over is None else _flow(telling, until)
        lasted = span(whole_minutes(event.happened_at, until))
        words = f"Paused {telling.time(event.happened_at)}–{telling.time(until)}, for {lasted}"
        words += f"{_reason(telling, event)}{_went_on(before, after)}{_spare(before, after)}."
        ids = (event.id,) if over is None else (event.id, over.id)
        yield Link(Fact.PAUSED, event.happened_at, words, until, event_ids=ids)


def hung_empty(telling: Telling) -> Iterator[Link]:
    """By the rates that were recorded all was in before the limit; its end was recorded after."""
    slow = slow_of(telling.asked)
    in_at = None if slow is None else was_in_at(slow)
    if slow is None or in_at is None:
        return
    words = (
        f"By the recorded rates all {slow.volume_ml:.0f} mL were in at {telling.time(in_at)}; the "
        f"end was recorded at {telling.time(slow.ended_at)}."
    )
    yield Link(Fact.HUNG_EMPTY, in_at, words, slow.ended_at)


def _pauses(telling: Telling) -> Iterator[tuple[Event, Event | None]]:
    """Each pause that began before the limit, with what went on after it."""
    turns = [
        event
        for event in telling.asked.events
        if isinstance(event.payload, Paused | Resumed) or event.kind in ENDINGS
    ]
    for event, over in zip_longest(turns, turns[1:]):
        if isinstance(event.payload, Paused) and event.happened_at <= telling.limit_at:
            yield event, over


def _reason(telling: Telling, event: Event) -> str:
    """For a suspected reaction where one was open; otherwise in the words that were given."""
    at = event.happened_at
    if any(one.since <= at and one.is_open_at(at) for one in telling.episode.reactions):
        return " for a suspected reaction"
    reason = event.payload.reason if isinstance(event.payload, Paused) else None
    return "" if reason is None else f" (“{reason}”)"


def _went_on(before: Infusion, after: Infusion | None) -> str:
    """At which rate it went on, where that was another than before."""
    if after is None or not after.rate_ml_h or after.rate_ml_h == before.rate_ml_h:
        return ""
    return f", and went on at {after.rate_ml_h:g} mL/h"


def _spare(before: Infusion, after: Infusion | None) -> str:
    """`: the spare to the limit fell from 25 min to −15 min`, where both are known."""
    if after is None or before.spare_minutes is None or after.spare_minutes is None:
        return ""
    return f": the spare to the limit went from {_signed(before)} to {_signed(after)}"


def _signed(flow: Infusion) -> str:
    minutes = round(flow.spare_minutes or 0)
    return f"{'−' if minutes < 0 else ''}{span(minutes)}"


def _flow(telling: Telling, at: datetime) -> Infusion:
    """The flow as the engine saw it at an instant, with what had happened by then."""
    told = [event for event in telling.asked.events if event.happened_at <= at]
    return picture(retold(telling.asked.run.case, told), at).infusion


def _up(rate_ml_h: float) -> str:
    """A needed rate, to the next whole mL/h: a smaller one would not do."""
    return f"{-(-rate_ml_h // 1):.0f}"
