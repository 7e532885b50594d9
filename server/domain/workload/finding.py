"""What does not work out with the work of a ward: one finding."""

from dataclasses import dataclass
from enum import StrEnum

from server.domain.workload.period import Period
from server.domain.workload.task import Task


class Snag(StrEnum):
    """What does not work out."""

    COLLISION = "collision"
    TOO_MANY_STARTS = "too_many_starts"
    HANDOVER = "handover"
    BREAK = "break"
    DUTY = "duty"
    OFF_SHIFT = "off_shift"
    NO_COVER = "no_cover"
    NO_SECOND = "no_second"
    NOBODY_TO_START = "nobody_to_start"


@dataclass(frozen=True, slots=True)
class WorkFinding:
    """What, when, for whom and with which tasks, those in order of time.

    Of a break without cover `staff_ids` are whose units they are and who would answer for them.
    `allowed` is how many the ward allows at once, where that is what is exceeded.
    """

    snag: Snag
    period: Period
    staff_ids: tuple[str, ...] = ()
    tasks: tuple[Task, ...] = ()
    allowed: int | None = None

    @property
    def episode_ids(self) -> tuple[str, ...]:
        """The units concerned, each once, in the order of the tasks."""
        return tuple(dict.fromkeys(task.episode_id for task in self.tasks))
