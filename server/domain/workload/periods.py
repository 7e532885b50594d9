"""Stretches of time put together, taken out of each other, and measured."""

from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta
from typing import Final

from server.domain.workload.capacity import OnDuty
from server.domain.workload.period import Period

_NONE: Final = timedelta(0)


def shared(one: Period, other: Period) -> timedelta:
    """Answer for how long two periods overlap."""
    return max(_NONE, min(one.until_at, other.until_at) - max(one.from_at, other.from_at))


def common(one: Period, other: Period) -> Period:
    """Answer what two periods that overlap have in common."""
    return Period(max(one.from_at, other.from_at), min(one.until_at, other.until_at))


def merged(periods: Iterable[Period]) -> tuple[Period, ...]:
    """Answer the same instants as few periods, in order."""
    joined: list[Period] = []
    for one in sorted(periods):
        if joined and one.from_at <= joined[-1].until_at:
            joined[-1] = Period(joined[-1].from_at, max(joined[-1].until_at, one.until_at))
        else:
            joined.append(one)
    return tuple(joined)


def without(whole: Period, taken: Iterable[Period]) -> tuple[Period, ...]:
    """Answer what is left of a period when others are taken out of it, in order."""
    left: list[Period] = []
    at = whole.from_at
    for one in merged(taken):
        until = min(one.from_at, whole.until_at)
        if at < until:
            left.append(Period(at, until))
        at = max(at, one.until_at)
    if at < whole.until_at:
        left.append(Period(at, whole.until_at))
    return tuple(left)


def at_work(shifts: Sequence[OnDuty], within: Period) -> tuple[Period, ...]:
    """Answer when somebody with these shifts is there and in no break or duty, cut to a period."""
    there = (
        common(free, within)
        for shift in shifts
        for free in without(shift.period, shift.away)
        if free.overlaps(within)
    )
    return merged(there)


def fits(length: timedelta, earliest: datetime, latest: datetime, room: Iterable[Period]) -> bool:
    """Answer whether something can begin between two instants and lie whole in one period."""
    begins = ((max(earliest, one.from_at), one.until_at) for one in room)
    return any(at <= latest and at + length <= until for at, until in begins)
