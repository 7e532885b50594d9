"""The smallest steady rate from the end of the slow start on that would have ended in time.

Only rates are replaced: pauses stay as long as they were. It says what was, and is no advice about
a patient.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from functools import partial
from itertools import takewhile
from math import floor
from typing import Final

from server.domain.clock import SECOND
from server.domain.episode import Flow
from server.domain.events import Event
from server.domain.fold import fold
from server.domain.infusion import TOLERANCE, volume_given
from server.domain.payloads import Completed, RateSet, Resumed
from server.domain.why.attempt import Act, Asked, Way
from server.domain.why.earlier import Avoided, Rate, beside, key_of, run_of
from server.domain.why.moving import Told, act_at, added
from server.domain.why.search import smallest
from server.domain.window import ENDINGS
from server.domain.words import Kind, Phase

_REPLACED: Final = frozenset({Kind.RATE_SET, Kind.VOLUME_READ, *ENDINGS})


@dataclass(frozen=True, slots=True)
class Slow:
    """A unit that ended late: what is left of it from the end of its slow start on.

    `volume_ml` is what it had given when it ended; `permitted_ml_h` is the highest rate.
    """

    asked: Asked
    from_at: datetime
    ended_at: datetime
    volume_ml: float
    permitted_ml_h: float


def slow_of(asked: Asked) -> Slow | None:
    """Answer what could have run otherwise, None where nothing was left after the slow start.

    Of a unit that was stopped nothing is asked: its rate did not decide when it ended.
    """
    episode, standing = asked.run.facts.episode, asked.run.standing
    start, end = episode.started_at, episode.ended_at
    if start is None or end is None or episode.stopped_reason is not None:
        return None
    from_at = start + standing.policy.rate_first
    volume = _volume_ml(asked, end)
    before = volume_given(episode.flow, episode.volume_ml, from_at).given_ml
    if from_at >= min(end, asked.limit_at) or before + TOLERANCE >= volume:
        return None
    return Slow(asked, from_at, end, volume, standing.infusion.permitted_rate_ml_h)


def _volume_ml(asked: Asked, end: datetime) -> float:
    """What was read at the end; without a reading the whole bag, or what the rates say."""
    episode = asked.run.facts.episode
    whole = episode.volume_ml
    last = episode.flow[-1]
    if last.given_ml is None and whole is not None:
        return whole
    return volume_given(episode.flow, whole, end).given_ml


def was_in_at(slow: Slow) -> datetime | None:
    """Answer when all of it was in by the rates that were recorded, None: not by the limit."""
    flow = slow.asked.run.facts.episode.flow
    return _in_at(slow, [change for change in flow if change.at < slow.ended_at])


def steady_rate(slow: Slow) -> Avoided | None:
    """Answer the smallest whole rate, in mL/h, that keeps the limit within the permitted one."""
    most = floor(slow.permitted_ml_h)
    rate = smallest(partial(is_kept_at, slow), most) if is_kept_at(slow, most) else None
    if rate is None:
        return None
    told = told_at(slow, rate)
    run = None if told is None else run_of(slow.asked, told)
    assert run is not None  # noqa: S101 - it was found to be kept
    kept, passed = beside(slow.asked, run)
    return Avoided(
        act=Act.RATE,
        way=Way.STEADY,
        at=run.facts.episode.ended_at or slow.ended_at,
        was_at=slow.ended_at,
        also_kept=kept,
        then_passed=passed,
        rate=rate_of(slow, rate),
    )


def is_kept_at(slow: Slow, rate_ml_h: float) -> bool:
    """Whether the engine finds the limit kept with this rate after the slow start."""
    told = told_at(slow, rate_ml_h)
    run = None if told is None else run_of(slow.asked, told)
    return run is not None and key_of(slow.asked) not in run.breaches


def rate_of(slow: Slow, rate_ml_h: float) -> Rate:
    """Answer how much of the unit a rate brings in by the limit."""
    flow = _flow_at(slow, rate_ml_h)
    reached = volume_given(flow, slow.volume_ml, slow.asked.limit_at).given_ml
    return Rate(slow.from_at, rate_ml_h, slow.permitted_ml_h, slow.volume_ml, reached)


def told_at(slow: Slow, rate_ml_h: float) -> Told | None:
    """Answer the facts with this rate and the end when all is in, None: not by the limit."""
    ended_at = _in_at(slow, _flow_at(slow, rate_ml_h))
    if ended_at is None:
        return None
    end = act_at(Kind.COMPLETED, Completed(), ended_at)
    return added(tuple(_rewritten(slow, rate_ml_h)), end, Phase.ENDED)


def _flow_at(slow: Slow, rate_ml_h: float) -> list[Flow]:
    """The flow up to the limit with this rate: the end lies after it."""
    limit = slow.asked.limit_at
    until = [one for one in _rewritten(slow, rate_ml_h) if one.happened_at <= limit]
    told = [replace(one, recorded_at=one.happened_at, position=n) for n, one in enumerate(until)]
    return fold(slow.asked.run.case.request, told).flow


def _rewritten(slow: Slow, rate_ml_h: float) -> Iterator[Event]:
    """The facts without their end, every rate from the end of the slow start on replaced."""
    events = slow.asked.events
    before = list(takewhile(lambda event: event.happened_at < slow.from_at, events))
    yield from before
    if not _is_paused(before):
        yield act_at(Kind.RATE_SET, RateSet(rate_ml_h), slow.from_at)
    for event in events[len(before) :]:
        if isinstance(event.payload, Resumed):
            yield replace(event, payload=replace(event.payload, rate_ml_h=rate_ml_h))
        elif event.kind not in _REPLACED:
            yield event


def _is_paused(events: Iterable[Event]) -> bool:
    turns = [event.kind for event in events if event.kind in (Kind.PAUSED, Kind.RESUMED)]
    return bool(turns) and turns[-1] is Kind.PAUSED


def _in_at(slow: Slow, flow: Sequence[Flow]) -> datetime | None:
    """The first second by which the volume is in, None: not by the limit. Asked of the integral."""

    def is_in(seconds: int) -> bool:
        at = slow.from_at + seconds * SECOND
        return volume_given(list(flow), None, at).given_ml + TOLERANCE >= slow.volume_ml

    most = (slow.asked.limit_at - slow.from_at) // SECOND
    if is_in(0) or not is_in(most):
        return slow.from_at if is_in(0) else None
    return slow.from_at + (smallest(is_in, most) or most) * SECOND
