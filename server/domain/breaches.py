"""Breaches: limits that were passed unmet, or met too late."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from server.domain.clock import BREACHED, Clock
from server.domain.episode import Cause
from server.domain.standing import Standing
from server.domain.words import ClockName, ClockState


@dataclass(frozen=True, slots=True)
class Breach:
    """A limit that was not kept.

    `late_minutes` is how late it was met, or is by now; a check that can no longer be met has
    none. `cause` is what somebody gave as the cause.
    """

    clock: ClockName
    n: int
    limit_at: datetime
    met_at: datetime | None
    late_minutes: float | None
    state: ClockState
    cause: str | None
    cause_text: str | None


def breaches_at(standing: Standing) -> tuple[Breach, ...]:
    """Answer the breaches that have happened by the instant, earliest first."""
    found = [
        _breach(clock, state, standing)
        for clock, state in standing.clocks
        if state in BREACHED and clock.limit_at is not None
    ]
    return tuple(sorted(found, key=lambda breach: breach.limit_at))


def _breach(clock: Clock, state: ClockState, standing: Standing) -> Breach:
    assert clock.limit_at is not None  # noqa: S101 - only clocks with a limit come here
    cause = cause_of(clock, clock.limit_at, standing.episode.causes)
    until = standing.now if state is ClockState.OVERDUE else clock.met_at
    late = None if until is None else round((until - clock.limit_at).total_seconds() / 60, 2)
    return Breach(
        clock=clock.name,
        n=clock.n,
        limit_at=clock.limit_at,
        met_at=clock.met_at,
        late_minutes=late,
        state=state,
        cause=None if cause is None else cause.cause,
        cause_text=None if cause is None else cause.text,
    )


def cause_of(clock: Clock, limit_at: datetime, causes: Sequence[Cause]) -> Cause | None:
    """Answer the last cause that was given for the breach of a limit, None: it is open."""
    given = (one for one in reversed(causes) if one.explains(clock.name, clock.n, limit_at))
    return next(given, None)
