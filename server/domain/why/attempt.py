"""An attempt to keep a limit: facts with one act moved, and the clock that is asked about."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum
from typing import Final

from server.domain.clock import Clock
from server.domain.events import Event
from server.domain.observations import missing_signs
from server.domain.payloads import Observed
from server.domain.why.moving import Retell, Told
from server.domain.why.rerun import Rerun
from server.domain.wording import wall_time
from server.domain.words import ClockState

MINUTE: Final = timedelta(minutes=1)


class Act(StrEnum):
    """What somebody does to a unit that can keep a limit."""

    ISSUE = "issue"
    START = "start"
    RETURN = "return"
    SET = "set"
    RATE = "rate"
    END = "end"
    SET_CHANGE = "set_change"
    FATE = "fate"


class Way(StrEnum):
    """How the act would have had to be another.

    At another time, at the latest by one, at any until now, with every sign, or at one rate.
    """

    EARLIER = "earlier"
    LATER = "later"
    BY = "by"
    ANY = "any"
    WHOLE = "whole"
    STEADY = "steady"


@dataclass(frozen=True, slots=True)
class Attempt:
    """An act that may be moved by `step` once to `most` times from `from_at` on.

    `event` is the act as it was recorded, None where it was not.
    """

    act: Act
    way: Way
    from_at: datetime
    step: timedelta
    most: int
    tell: Retell
    event: Event | None = None

    def at(self, steps: int) -> datetime:
        """When the act would have been, moved by so many steps."""
        return self.from_at + steps * self.step


@dataclass(frozen=True, slots=True)
class Asked:
    """The clock that was not kept, as it stands at `now`, with the facts that count."""

    clock: Clock
    state: ClockState
    limit_at: datetime
    events: Told
    run: Rerun
    now: datetime

    @property
    def is_late(self) -> bool:
        """Whether it was met, after its limit."""
        return self.state is ClockState.MET_LATE

    @property
    def free_sets(self) -> Iterator[tuple[int, Event]]:
        """The full sets that met no clock, with their places."""
        met = {clock.met_at for clock, _ in self.run.standing.clocks}
        for place, event in self.full_sets:
            if event.happened_at not in met:
                yield place, event

    @property
    def full_sets(self) -> Iterator[tuple[int, Event]]:
        """The full sets, with their places."""
        for place, event in enumerate(self.events):
            if isinstance(event.payload, Observed) and not self.missing(event.payload):
                yield place, event

    @property
    def partial_sets(self) -> Iterator[tuple[int, Event]]:
        """The sets that lack a sign to be full ones, with their places."""
        for place, event in enumerate(self.events):
            if isinstance(event.payload, Observed) and self.missing(event.payload):
                yield place, event

    def time(self, at: datetime) -> str:
        """The ward's wall time; with its day from 12 h or more from the limit."""
        return wall_time(at, self.run.case.zone, self.limit_at)

    def missing(self, observed: Observed) -> tuple[str, ...]:
        """The signs that a set lacks to be a full one."""
        return missing_signs(observed, self.run.standing.policy.observations_required)
