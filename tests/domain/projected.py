"""The work ahead of one unit, looked at from a minute, and as plain rows."""

from datetime import datetime

from server.domain.picture import Case
from server.domain.workload.period import Period
from server.domain.workload.project import project
from server.domain.workload.projection import Projection
from server.domain.workload.task import Task, Work
from tests.domain.builders import at, look
from tests.domain.working import TERMS, period

DAY = period(-60, 24 * 60)
AFTER_THE_END = (Work.FINISH, Work.END_CHECK)


def ahead(given: Case, minute: float, within: Period = DAY, **kept: object) -> Projection:
    return project(look(given, at(minute)), TERMS, within, **kept)  # type: ignore[arg-type]


def rows(tasks: tuple[Task, ...]) -> list[tuple[str | float, ...]]:
    """Work and number; at, earliest, latest and length in minutes from the base."""
    return [
        (one.work.value, one.n, *map(_minute, (one.at, one.earliest, one.latest)), _length(one))
        for one in tasks
    ]


def _minute(instant: datetime) -> float:
    return (instant - at()).total_seconds() / 60


def _length(one: Task) -> float:
    return one.length.total_seconds() / 60
