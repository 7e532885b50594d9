"""One unit in the week: what was recorded of it, and what it asks for next."""

from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from enum import StrEnum
from typing import Final

from server.domain.events import Event
from server.domain.payloads import PAYLOADS, Payload
from server.domain.picture import Case, Picture, picture
from server.domain.policy import Policy
from server.domain.request import Patient, Request

KIND_OF: Final = {payload: kind for kind, payload in PAYLOADS.items()}

EARLY: Final = timedelta(minutes=5)
"""So long before its planned check, or before it would be started late, a unit is begun by a
nurse who has hands for it."""


class Job(StrEnum):
    """What a nurse does for a unit."""

    START = "start"
    FIRST = "first"
    RUNNING = "running"
    FINISH = "finish"
    END = "end"


@dataclass(frozen=True, slots=True)
class Wanted:
    """The next job of a unit: from when it can be done, when it should be, when it is late."""

    unit: "Unit"
    job: Job
    ready_at: datetime
    due_at: datetime
    limit_at: datetime


@dataclass(slots=True)
class Unit:
    """A unit as it goes through the week. `check_at` is its planned check, None without a plan."""

    request: Request
    policy: Policy
    available_at: datetime
    events: list[Event] = field(default_factory=list)
    nurse_id: str | None = None
    second_id: str | None = None
    check_at: datetime | None = None
    call_at: datetime | None = None
    called_at: datetime | None = None
    removed_at: datetime | None = None
    arrives_at: datetime | None = None
    begun_at: datetime | None = None
    started_at: datetime | None = None
    last_set_at: datetime | None = None
    empty_at: datetime | None = None
    ended_at: datetime | None = None
    closed_at: datetime | None = None

    @property
    def id(self) -> str:
        """The episode's."""
        return self.request.id

    @property
    def is_in_hand(self) -> bool:
        """Whether it was called for and has not ended."""
        return self.called_at is not None and self.ended_at is None

    def is_starting(self, now: datetime) -> bool:
        """Whether it is called for, or in its watched beginning."""
        if not self.is_in_hand:
            return False
        return self.started_at is None or now < self.started_at + self.policy.rate_first

    def note(self, at: datetime, payload: Payload, by: str) -> None:
        """Record a fact the moment it happens."""
        place = len(self.events) + 1
        self.events.append(
            Event(
                id=f"{self.id}-{place}",
                kind=KIND_OF[type(payload)],
                happened_at=at,
                recorded_at=at,
                payload=payload,
                recorded_by=by,
                position=place,
                staff_id=by,
                episode_id=self.id,
            )
        )

    def picture(self, now: datetime) -> Picture:
        """What the engine makes of what was recorded by then."""
        case = Case(self.request, _patient(self.request), self.policy, tuple(self.events), UTC)
        return picture(case.known(now, now), now)

    def wants(self) -> Wanted | None:
        """What it asks for next, None where nothing is to be done at the bedside."""
        if self.closed_at is not None or self.arrives_at is None or self.removed_at is None:
            return None
        if self.started_at is None:
            if self.begun_at is not None:
                return None
            limit = self.removed_at + self.policy.start_target - self.policy.work_check_and_start
            planned = (self.check_at or self.arrives_at) - EARLY
            ready = max(self.arrives_at, min(planned, limit - EARLY))
            return Wanted(self, Job.START, ready, ready, max(limit, ready))
        if self.ended_at is not None:
            due = self.ended_at + self.policy.end_due
            return Wanted(self, Job.END, self.ended_at, due, self.ended_at + self.policy.end_limit)
        return self._running(self.started_at, self.removed_at)

    def _running(self, started: datetime, removed: datetime) -> Wanted:
        limit = removed + self.policy.finish_within[self.request.component]
        down = min(self.empty_at or limit, limit - self.policy.work_finish)
        finish = Wanted(
            self, Job.FINISH, down, down, min(limit, down + self.policy.work_finish_grace)
        )
        if self.last_set_at is None:
            due = started + self.policy.first_due
            check = Wanted(self, Job.FIRST, due, due, started + self.policy.first_limit)
        else:
            due = self.last_set_at + self.policy.running_every
            late = due + self.policy.running_grace
            check = Wanted(self, Job.RUNNING, due - self.policy.running_early, due, late)
        return finish if finish.due_at <= check.due_at else check


def _patient(request: Request) -> Patient:
    return Patient(request.patient_id, request.patient_id, "Invented", "Person", None)
