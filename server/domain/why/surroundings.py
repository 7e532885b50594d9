"""What surrounded a unit: other units of the ward, who was on duty, and what was planned."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from server.domain.cover import Cover, who_answers
from server.domain.episode import Episode
from server.domain.fold import fold
from server.domain.picture import Case
from server.domain.plan.planned import Planned
from server.domain.policy import Policy
from server.domain.request import Request
from server.domain.workload.capacity import OnDuty
from server.domain.workload.period import Period


@dataclass(frozen=True, slots=True)
class Other:
    """Another unit of the ward: its facts as far as they kept a nurse from elsewhere."""

    episode: Episode
    policy: Policy
    sets: tuple[datetime, ...]

    @property
    def request(self) -> Request:
        """What was asked for: its id, patient and bed."""
        return self.episode.request

    @property
    def beginning(self) -> Period | None:
        """From its identity check, where one was recorded, to the end of its watched minutes."""
        start, end = self.episode.started_at, self.episode.ended_at
        if start is None:
            return None
        over = start + self.policy.rate_first
        return Period(self.episode.identity_at or start, over if end is None else min(over, end))


@dataclass(frozen=True, slots=True)
class Surroundings:
    """What surrounded a unit; `planned` is what the plan said of it that was in force at its issue.

    `others` are units of the ward near the breach, `on_duty` the shifts that touch it, of anybody.
    """

    others: tuple[Other, ...] = ()
    on_duty: tuple[OnDuty, ...] = ()
    handovers: tuple[Period, ...] = ()
    covers: tuple[Cover, ...] = ()
    planned: Planned | None = None

    def answering(self, unit: Episode, at: datetime) -> str | None:
        """Who answered for a unit at an instant, by cover too; None: nobody had it."""
        nurse = unit.nurse_at(at)
        return None if nurse is None else who_answers(nurse, self.covers, at)

    def shifts_of(self, nurse: str) -> Iterator[OnDuty]:
        """The entered shifts of somebody, in order of time."""
        yield from sorted(
            (one for one in self.on_duty if one.staff_id == nurse), key=lambda one: one.period
        )


NOTHING_AROUND = Surroundings()


def other_of(case: Case) -> Other:
    """Answer a unit as one beside another."""
    episode = fold(case.request, case.events)
    return Other(episode, case.policy, tuple(case.facts_of(episode).sets))
