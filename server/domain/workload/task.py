"""A task: one piece of nurse work that a unit still asks for, with where it may lie in time."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum

from server.domain.workload.period import Period


class Work(StrEnum):
    """What a nurse does for a unit, in the order of its way."""

    COLLECT = "collect"
    CHECK_AND_START = "check_and_start"
    SECOND_CHECK = "second_check"
    WATCH = "watch"
    FIRST_CHECK = "first_check"
    RUNNING_CHECK = "running_check"
    REACTION_CHECK = "reaction_check"
    FINISH = "finish"
    END_CHECK = "end_check"


@dataclass(frozen=True, slots=True)
class Task:
    """Work for one unit. `at` is where it is expected to begin, between `earliest` and `latest`.

    It is time-locked where the two are the same instant: nobody can do it at another time.
    `staff_id` None: nobody is named for it. `n` counts tasks of one kind of a unit from 1.
    """

    episode_id: str
    bed: str
    work: Work
    n: int
    staff_id: str | None
    at: datetime
    earliest: datetime
    latest: datetime
    length: timedelta

    @property
    def is_locked(self) -> bool:
        """Whether it can lie nowhere else."""
        return self.earliest == self.latest

    @property
    def period(self) -> Period:
        """When it is expected to keep somebody busy."""
        return Period(self.at, self.at + self.length)
