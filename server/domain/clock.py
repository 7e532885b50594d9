"""A clock: one time limit or check, with the instants at which its state changes.

A clock is worked out from facts alone; how it stands at an instant is a second, cheap question.
So the same clocks answer for now, for yesterday and for the next thing that will change.
"""

from datetime import datetime, timedelta
from typing import Final, NamedTuple

from server.domain.words import ClockName, ClockState

SECOND: Final = timedelta(seconds=1)

OWED: Final = frozenset({ClockState.PENDING, ClockState.OPEN, ClockState.DUE, ClockState.OVERDUE})
BREACHED: Final = frozenset({ClockState.OVERDUE, ClockState.MET_LATE, ClockState.MISSED})


class Clock(NamedTuple):
    """One clock. All instants are UTC to the second; None: there is no such instant.

    `opens_at` <= `due_at` <= `limit_at`. `met_at` is the event that met it, `lapsed_at` the
    instant from which it is no longer owed, `over_at` the instant from which it can no longer be
    met. `n` counts clocks of one name from 1, `rule` is the policy key its source is found under.
    """

    name: ClockName
    n: int
    opens_at: datetime | None
    due_at: datetime | None
    limit_at: datetime | None
    rule: str
    met_at: datetime | None = None
    lapsed_at: datetime | None = None
    over_at: datetime | None = None


def state_at(clock: Clock, now: datetime) -> ClockState:  # noqa: PLR0911 - one line a state
    """Answer how `clock` stands at `now`; an event at the limit is in time, a second later not."""
    _, _, opens_at, due_at, limit_at, _, met_at, lapsed_at, over_at = clock
    if lapsed_at is not None and now >= lapsed_at:
        return ClockState.LAPSED
    if met_at is not None:
        in_time = limit_at is None or met_at <= limit_at
        return ClockState.MET if in_time else ClockState.MET_LATE
    if over_at is not None and now >= over_at:
        return ClockState.MISSED
    if limit_at is not None and now > limit_at:
        return ClockState.OVERDUE
    if due_at is not None and now >= due_at:
        return ClockState.DUE
    if opens_at is not None and now >= opens_at:
        return ClockState.OPEN
    return ClockState.PENDING


def crossed_at(clock: Clock, state: ClockState) -> datetime | None:
    """Answer the boundary at which `clock` came into `state`; overdue is stamped with the limit."""
    boundaries = {
        ClockState.PENDING: None,
        ClockState.OPEN: clock.opens_at,
        ClockState.DUE: clock.due_at,
        ClockState.OVERDUE: clock.limit_at,
        ClockState.MET: clock.met_at,
        ClockState.MET_LATE: clock.met_at,
        ClockState.MISSED: clock.over_at,
        ClockState.LAPSED: clock.lapsed_at,
    }
    return boundaries[state]
