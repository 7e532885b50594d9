"""What came of each reminder: useful, answered later, ignored, or never a call at all.

A reminder calls from when it was raised until the next one of the same clock. Instants are UTC.
"""

from collections.abc import Iterable, Iterator
from datetime import datetime, timedelta
from enum import StrEnum
from itertools import groupby
from typing import Final, NamedTuple

from server.domain.clock import OWED
from server.domain.words import ClockName, ClockState, Stage


class Told(NamedTuple):
    """A reminder that was raised, with how its clock stands; `state` None: the clock is gone."""

    episode_id: str
    clock: ClockName
    n: int
    stage: Stage
    repeat: int
    owed_at: datetime
    raised_at: datetime
    to: str
    acknowledged_at: datetime | None
    met_at: datetime | None
    state: ClockState | None


class Outcome(StrEnum):
    """What came of a reminder; each has exactly one."""

    USEFUL = "useful"
    LATER = "later"
    IGNORED = "ignored"
    QUIET = "quiet"
    MET_BEFORE = "met_before"
    LAPSED = "lapsed"
    OPEN = "open"


class Judged(NamedTuple):
    """A reminder, what came of it, and whether somebody said "I have it" before the next stage."""

    told: Told
    outcome: Outcome
    acknowledged: bool


_RANK: Final = {stage: place for place, stage in enumerate(Stage)}


def judge(told: Iterable[Told], useful_within: timedelta) -> Iterator[Judged]:
    """Answer what came of each reminder, clock by clock in the order of raising.

    All reminders of a clock have to be there, also those raised after the last that matters.
    """
    for _, of_clock in groupby(sorted(told, key=_order), key=_clock):
        listed = list(of_clock)
        for place, one in enumerate(listed):
            after = listed[place + 1 :]
            then = next((two.raised_at for two in after if two.raised_at > one.raised_at), None)
            superseded = any(two.raised_at == one.raised_at and two.to == one.to for two in after)
            yield _judged(one, then, useful_within, superseded=superseded)


def _clock(told: Told) -> tuple[str, ClockName, int]:
    return (told.episode_id, told.clock, told.n)


def _order(told: Told) -> tuple[object, ...]:
    return (*_clock(told), told.raised_at, told.owed_at, _RANK[told.stage], told.repeat)


def _judged(
    told: Told, then: datetime | None, useful_within: timedelta, *, superseded: bool
) -> Judged:
    had, met = told.acknowledged_at, told.met_at
    if superseded or (had is not None and had <= told.raised_at):
        return Judged(told, Outcome.QUIET, acknowledged=False)
    if met is not None and met <= told.raised_at:
        return Judged(told, Outcome.MET_BEFORE, acknowledged=False)
    answered = [at for at in (had, met) if at is not None and (then is None or at < then)]
    if not answered:
        return Judged(told, _unanswered(told, then), acknowledged=False)
    in_time = min(answered) - told.raised_at <= useful_within
    return Judged(told, Outcome.USEFUL if in_time else Outcome.LATER, acknowledged=had in answered)


def _unanswered(told: Told, then: datetime | None) -> Outcome:
    """Before another stage came: ignored. As the last one it calls still, or until it fell away."""
    if then is not None or told.state is ClockState.MISSED:
        return Outcome.IGNORED
    return Outcome.OPEN if told.state in OWED else Outcome.LAPSED
