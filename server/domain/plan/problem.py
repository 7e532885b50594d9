"""What a planner is asked: the waiting units, the work already there, the people, the rules.

A plan moves along a grid of `Terms.grid`; every start lies on it, counted from the full hour.
Lengths are `timedelta`, instants UTC. A start is described by the instant at which the two-person
check begins (`check_at`); the blood runs from `check_at` + `Terms.check` on.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta, tzinfo

from server.domain.words import Component, Priority
from server.domain.workload.capacity import Capacity
from server.domain.workload.period import Period
from server.domain.workload.task import Task, Work


@dataclass(frozen=True, slots=True)
class Terms:
    """How long things take and which limits of the policy a plan has to keep.

    `collect` passes from the call until the unit is on the ward; `carried` of it the unit is out of
    storage. The blood has to run within `start_within` of leaving storage. `watch` is the watched
    beginning, `lengths` the minutes of each kind of work. `grid` divides an hour. What a routine
    unit waits beyond `longest_wait` counts as lateness; None: it may wait as long as it takes. An
    empty bag may hang for `finish_grace` before it is taken down, never past its limit.
    """

    grid: timedelta
    collect: timedelta
    carried: timedelta
    check: timedelta
    watch: timedelta
    start_within: timedelta
    checkers: int
    lengths: Mapping[Work, timedelta]
    longest_wait: timedelta | None = None
    finish_grace: timedelta = timedelta(0)


@dataclass(frozen=True, slots=True)
class PlanCheck:
    """A check of vital signs of a unit not started yet, counted from when the blood runs."""

    work: Work
    n: int
    earliest: timedelta
    due: timedelta
    latest: timedelta


@dataclass(frozen=True, slots=True)
class Pin:
    """What somebody fixed by hand; None: left to the planner."""

    check_at: datetime | None = None
    nurse_id: str | None = None
    second_id: str | None = None


@dataclass(frozen=True, slots=True)
class PlanUnit:
    """One unit that is not started.

    `ready_at`: not before this may it be called for. `is_issued`: it is on its way or on the ward
    already, needs no collection, and its check must begin by `check_by`. For a unit still in
    storage `check_by` is None. `done_by` is the last instant at which a known expiry or a sample
    lets it run, with which of them in `done_by_rule`. It runs for `runs` and must be in within
    `finish_within` of leaving storage. `after` is the unit of the same patient that must be over
    first, `gap` what has to lie between the two; `free_at` is when a running one is projected to
    end. `called_at`: it is being called for since then, as the plan in force has it. `at_once`: its
    component is not left lying, so that waiting costs as for an urgent one.
    """

    episode_id: str
    patient_id: str
    bed: str
    component: Component
    priority: Priority
    ready_at: datetime
    runs: timedelta
    finish_within: timedelta
    checks: tuple[PlanCheck, ...] = ()
    wanted_by: datetime | None = None
    is_issued: bool = False
    check_by: datetime | None = None
    done_by: datetime | None = None
    done_by_rule: str | None = None
    after: str | None = None
    gap: timedelta = timedelta(0)
    free_at: datetime | None = None
    called_at: datetime | None = None
    at_once: bool = False
    nurse_id: str | None = None
    needs: frozenset[str] = frozenset()
    pin: Pin = field(default_factory=Pin)
    forbidden: tuple[Period, ...] = ()


@dataclass(frozen=True, slots=True)
class Earlier:
    """Where the accepted plan had put a unit: moving it is a change."""

    check_at: datetime
    nurse_id: str
    second_id: str | None


@dataclass(frozen=True, slots=True)
class Problem:
    """Everything a plan is made from. Checks may begin from `from_at` until before `until_at`.

    `tasks` is the work of units that are under way: what is locked stays, what is movable may be
    done anywhere in its window by whoever has the unit. `accepted` is the plan in force. Reasons
    are said in the ward's `zone`, and with the `names` of people by their id.
    """

    ward_id: str
    from_at: datetime
    until_at: datetime
    terms: Terms
    units: tuple[PlanUnit, ...]
    tasks: tuple[Task, ...]
    capacity: Capacity
    accepted: Mapping[str, Earlier] = field(default_factory=dict)
    zone: tzinfo = UTC
    names: Mapping[str, str] = field(default_factory=dict)
