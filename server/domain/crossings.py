"""The states a clock went through since it was last looked at, each with its boundary.

A job that slept for an hour finds the same crossings, with the same stamps, as one that did not.
"""

from dataclasses import dataclass
from datetime import datetime

from server.domain.clock import SECOND, Clock, crossed_at, state_at
from server.domain.words import ClockState


@dataclass(frozen=True, slots=True)
class Crossing:
    """A clock came into a state at a boundary; `from_state` None: the clock was not there yet."""

    clock: Clock
    from_state: ClockState | None
    to_state: ClockState
    at: datetime


def crossings(clock: Clock, before: ClockState | None, now: datetime) -> tuple[Crossing, ...]:
    """Answer how `clock` came from the state it was last seen in to the one at `now`."""
    passed = _states_until(clock, now)
    if before in passed:
        passed = passed[passed.index(before) + 1 :]
    elif before is not None:
        # The facts changed under it: only where it stands now is certain.
        passed = passed[-1:]
    found: list[Crossing] = []
    for state in passed:
        found.append(Crossing(clock, before, state, crossed_at(clock, state) or now))
        before = state
    return tuple(found)


def _states_until(clock: Clock, now: datetime) -> list[ClockState]:
    """Every state the clock has had by `now`, in order, each once."""
    limit = None if clock.limit_at is None else clock.limit_at + SECOND
    boundaries = (clock.opens_at, clock.due_at, limit, clock.over_at, clock.lapsed_at)
    passed = sorted({at for at in boundaries if at is not None and at <= now} | {now})
    instants = [passed[0] - SECOND, *passed]
    return list(dict.fromkeys(state_at(clock, at) for at in instants))
