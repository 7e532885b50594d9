"""Capacity: who is there to work, for what they are trained, and what a ward allows at once.

Everything here is entered by the charge nurse; nothing is guessed. Instants are UTC.
"""

from dataclasses import dataclass
from datetime import datetime, time
from enum import StrEnum

from server.domain.workload.period import Period


class Collector(StrEnum):
    """Who brings a unit from storage to the ward."""

    PORTER = "porter"
    NURSE = "nurse"


class NightRule(StrEnum):
    """What a ward does with routine units at night."""

    ALLOWED = "allowed"
    AVOIDED = "avoided"
    REFUSED = "refused"


@dataclass(frozen=True, slots=True)
class Duty:
    """A fixed duty away from the units: a round, an admission, teaching."""

    period: Period
    name: str


@dataclass(frozen=True, slots=True)
class OnDuty:
    """Somebody's shift on the ward. `skills` are names that the ward itself chose.

    `may_start`: trained to check, start and watch a unit; `may_second`: to be the second checker.
    `beds` are the beds this person was given for the shift, empty: none in particular.
    """

    shift_id: str
    staff_id: str
    period: Period
    breaks: tuple[Period, ...] = ()
    duties: tuple[Duty, ...] = ()
    may_start: bool = True
    may_second: bool = True
    skills: frozenset[str] = frozenset()
    beds: frozenset[str] = frozenset()

    @property
    def away(self) -> tuple[Period, ...]:
        """When this person is on duty and cannot work on units, in order."""
        return tuple(sorted((*self.breaks, *(duty.period for duty in self.duties))))

    def is_free(self, period: Period) -> bool:
        """Whether the whole of a period lies in the shift and in no break or duty."""
        inside = self.period.from_at <= period.from_at and period.until_at <= self.period.until_at
        return inside and not any(away.overlaps(period) for away in self.away)


@dataclass(frozen=True, slots=True)
class WallWindow:
    """A stretch of each day by the clock on the ward's wall; it may run past midnight."""

    from_time: time
    until_time: time

    def holds(self, wall: time) -> bool:
        """Whether the clock shows a time of it; its end is no longer of it."""
        if self.from_time < self.until_time:
            return self.from_time <= wall < self.until_time
        return wall >= self.from_time or wall < self.until_time


@dataclass(frozen=True, slots=True)
class WardLimits:
    """What a ward allows at once, as entered; the nights are the policy's. None: no such limit.

    `use_learnt`: the manager switched on the minutes that the ward itself recorded.
    """

    handovers: tuple[WallWindow, ...] = ()
    night_rule: NightRule = NightRule.AVOIDED
    most_starts: int | None = None
    collected_by: Collector = Collector.PORTER
    porters: int | None = None
    issues_per_quarter: int | None = None
    use_learnt: bool = False


@dataclass(frozen=True, slots=True)
class WardRules:
    """What the ward allows over a stretch of time. None: no such limit was given.

    `handovers` are periods in which nobody starts a unit, `nights` those the night rule speaks of.
    `most_starts` units may be in their check, start and watched first quarter of an hour at once;
    `porters` collections may be under way at once; the blood bank hands out `issues_per_quarter`
    units in a quarter of an hour of the clock.
    """

    handovers: tuple[Period, ...] = ()
    nights: tuple[Period, ...] = ()
    night_rule: NightRule = NightRule.AVOIDED
    most_starts: int | None = None
    collected_by: Collector = Collector.PORTER
    porters: int | None = None
    issues_per_quarter: int | None = None


@dataclass(frozen=True, slots=True)
class Capacity:
    """Everybody on duty on one ward and what the ward allows, as known at one instant."""

    ward_id: str
    as_of: datetime
    on_duty: tuple[OnDuty, ...]
    rules: WardRules
