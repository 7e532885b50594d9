"""What a planner answers: starts with their reasons, what found no place and why, and the worth.

Instants are UTC, worths are whole minutes unless their name says otherwise.
"""

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from server.domain.workload.task import Work


class Status(StrEnum):
    """How sure a plan is."""

    OPTIMAL = "optimal"
    FEASIBLE = "feasible"
    NONE = "none"


class Maker(StrEnum):
    """What made a plan."""

    SOLVER = "solver"
    LIST_RULE = "list_rule"
    HAND = "hand"


class Rule(StrEnum):
    """A family of rules that can stand in the way of a start."""

    READY = "ready"
    FINISH = "finish"
    START = "start"
    EXPIRY = "expiry"
    SAMPLE = "sample"
    SEQUENCE = "sequence"
    HANDOVER = "handover"
    NIGHT = "night"
    BREAKS = "breaks"
    SHIFTS = "shifts"
    NURSES = "nurses"
    TRAINING = "training"
    SECOND = "second"
    MOST_STARTS = "most_starts"
    PORTERS = "porters"
    BLOOD_BANK = "blood_bank"
    FORBIDDEN = "forbidden"
    PIN = "pin"
    HORIZON = "horizon"


@dataclass(frozen=True, slots=True)
class PlannedCheck:
    """Where the plan lays the work that follows a start: a check in its window, or its end.

    What follows a start and is not among its checks finds nobody free for it.
    """

    work: Work
    n: int
    at: datetime


@dataclass(frozen=True, slots=True)
class LaidTask:
    """Where the plan lays a movable task of a unit that is under way."""

    episode_id: str
    work: Work
    n: int
    at: datetime


@dataclass(frozen=True, slots=True)
class Start:
    """One planned start. `call_at` None: the unit is issued already. `second_id` None: one checker.

    `why` says in words what fixed it where it is, the most binding first; empty until asked for.
    `spare_minutes` is what is left of the finish limit if it goes so, None where not reckoned.
    """

    episode_id: str
    call_at: datetime | None
    check_at: datetime
    start_at: datetime
    first_check_at: datetime
    projected_end_at: datetime
    nurse_id: str
    second_id: str | None
    checks: tuple[PlannedCheck, ...] = ()
    why: tuple[str, ...] = ()
    spare_minutes: int | None = None


@dataclass(frozen=True, slots=True)
class Relaxed:
    """What giving way in one family of rules would bring a unit that found no place."""

    rule: Rule
    check_at: datetime | None
    words: str


@dataclass(frozen=True, slots=True)
class Unplaced:
    """A unit without a start: the smallest set of rules in its way, in words, and the ways out."""

    episode_id: str
    rules: tuple[Rule, ...]
    reason: str
    relaxed: tuple[Relaxed, ...] = ()


@dataclass(frozen=True, slots=True, order=True)
class Objective:
    """The worth of a plan, level by level: less is better, and an earlier level decides first.

    `unplaced` units without a start, urgent ones counted by the weight of their priority ·
    `urgent_late` weighted minutes of lateness of what cannot wait · `overload` minutes of work
    beyond what the people there can do, and routine starts in an avoided night · `changes` starts
    moved or given to others against the accepted plan · `comfort` routine waiting, spread of the
    load, and starts not by the named nurse.
    """

    unplaced: int
    urgent_late: int
    overload: int
    changes: int
    comfort: int


@dataclass(frozen=True, slots=True)
class Progress:
    """A better plan was found: its worth and what none can beat, on the level that is searched.

    `level` is the name of a field of `Objective`.
    """

    level: str
    worth: int
    bound: int
    seconds: float


@dataclass(frozen=True, slots=True)
class Proposal:
    """A plan for one ward. `bound` is the best worth that no plan can beat, None: not known.

    `gap_percent` is the distance to the bound on the level that is not closed, 0 where optimal,
    None where the maker knows no bound. `seconds` is what making it took. `laid` is where movable
    work of units that are under way is done.
    """

    ward_id: str
    from_at: datetime
    until_at: datetime
    made_by: Maker
    status: Status
    objective: Objective
    bound: Objective | None
    gap_percent: float | None
    seconds: float
    starts: tuple[Start, ...]
    unplaced: tuple[Unplaced, ...]
    laid: tuple[LaidTask, ...] = ()
