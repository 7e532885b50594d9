"""What is recorded when a job is done."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from server.domain.payloads import (
    CheckedItem,
    Completed,
    FateRecorded,
    IdentityChecked,
    Inspected,
    Observed,
    RateSet,
    Started,
    Stopped,
)
from server.domain.words import Fate
from tests.benchmarks.week.unit import Job, Unit, Wanted

SIGNS: Final = Observed(
    temperature_c=36.8,
    pulse_per_min=78,
    respirations_per_min=16,
    systolic_mmhg=124,
    diastolic_mmhg=76,
)
MINUTE: Final = timedelta(minutes=1)
ITEMS: Final = (CheckedItem("name", matched=True),)


@dataclass(frozen=True, slots=True)
class Doing:
    """A job under way: whose it is, who reads along, from when until when."""

    wanted: Wanted
    by: str
    second: str | None
    since: datetime
    until: datetime


def done(one: Doing, pace: float) -> None:
    """Record a job that is over; `pace` is how long the unit runs against its order.

    Signs count from a minute after their nurse came, and so does a bag that is taken down.
    """
    unit, job, at = one.wanted.unit, one.wanted.job, one.since + MINUTE
    if job is Job.START:
        _start(unit, one.by, one.second, one.until, pace)
    elif job is Job.FINISH:
        _finish(unit, one.by, at)
    else:
        unit.note(at, SIGNS, one.by)
        if job is Job.FIRST:
            unit.note(at, RateSet(_rate_ml_h(unit, at)), one.by)
        unit.last_set_at = at
        if job is Job.END:
            unit.note(one.until, FateRecorded(Fate.TRANSFUSED), one.by)
            unit.closed_at = one.until


def _start(unit: Unit, by: str, second: str | None, now: datetime, pace: float) -> None:
    unit.note(now - 2 * MINUTE, Inspected(), by)
    unit.note(now - 2 * MINUTE, SIGNS, by)
    unit.note(now - MINUTE, IdentityChecked(by, ITEMS, second), by)
    unit.note(now, Started(unit.policy.rate_first_max_ml_h), by)
    unit.started_at = now
    lasts = (unit.request.duration_minutes or 0) * pace * MINUTE
    empty = now + unit.policy.rate_first + lasts
    unit.empty_at = empty.replace(second=0, microsecond=0)


def _rate_ml_h(unit: Unit, now: datetime) -> float:
    """The rate at which it is empty when it will be."""
    policy, started = unit.policy, unit.started_at or now
    slow = (now - started) / timedelta(hours=1) * policy.rate_first_max_ml_h
    left = max(10.0, (unit.request.volume_ml or 0) - slow)
    hours = max((unit.empty_at or now) - now, 5 * MINUTE) / timedelta(hours=1)
    return round(min(900.0, left / hours), 1)


def _finish(unit: Unit, by: str, now: datetime) -> None:
    """It is taken down; what is left at the limit stays in the bag."""
    volume = unit.request.volume_ml or 0
    if unit.empty_at is not None and now < unit.empty_at:
        unit.note(now, Stopped("finish limit reached", volume / 2), by)
    else:
        unit.note(now, Completed(volume), by)
    unit.ended_at = now
