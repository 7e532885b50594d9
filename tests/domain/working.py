"""Tasks, shifts and plans of an invented ward, told by minutes from the base instant."""

from datetime import timedelta
from typing import Any, Final

from server.domain.plan.problem import PlanCheck, PlanUnit
from server.domain.plan.proposal import Start
from server.domain.plan.terms import terms_of
from server.domain.words import Component, Priority
from server.domain.workload.capacity import OnDuty
from server.domain.workload.lengths import policy_lengths
from server.domain.workload.period import Period
from server.domain.workload.task import Task, Work
from tests.domain.builders import COMMON, at

TERMS: Final = terms_of(COMMON, policy_lengths(COMMON))


def minutes(length: float) -> timedelta:
    return timedelta(minutes=length)


def period(start: float, end: float) -> Period:
    return Period(at(start), at(end))


def task(
    work: Work,
    start: float,
    length: float = 5,
    *,
    staff: str | None = "nurse-1",
    window: tuple[float, float] | None = None,
    unit: str = "episode-1",
    bed: str = "4",
    n: int = 1,
) -> Task:
    """One task; without a window it is locked."""
    earliest, latest = window or (start, start)
    span = (at(start), at(earliest), at(latest))
    return Task(unit, bed, work, n, staff, *span, minutes(length))


def shift(staff: str, start: float = 0, end: float = 480, **fields: Any) -> OnDuty:
    """Somebody on duty."""
    return OnDuty(f"shift-{staff}-{start:g}", staff, period(start, end), **fields)


def check(work: Work, earliest: float, due: float, latest: float, n: int = 1) -> PlanCheck:
    """A check of a planned unit, by minutes from when the blood runs."""
    return PlanCheck(work, n, minutes(earliest), minutes(due), minutes(latest))


CHECKS: Final = (check(Work.FIRST_CHECK, 10, 15, 20), check(Work.END_CHECK, 80, 95, 140))


def unit(name: str = "episode-1", **fields: Any) -> PlanUnit:
    """A waiting unit of red cells in bed 4 that runs for 80 min and is in within 240."""
    given: dict[str, Any] = {
        "episode_id": name,
        "patient_id": "patient-1",
        "bed": "4",
        "component": Component.RED_CELLS,
        "priority": Priority.ROUTINE,
        "ready_at": at(),
        "runs": minutes(80),
        "finish_within": minutes(240),
        "checks": CHECKS,
    }
    return PlanUnit(**(given | fields))


def start(check: float, name: str = "episode-1", **fields: Any) -> Start:
    """A start with its call 16 min before the check and the blood running 15 min after it began."""
    given: dict[str, Any] = {
        "episode_id": name,
        "call_at": at(check - 16),
        "check_at": at(check),
        "start_at": at(check + 15),
        "first_check_at": at(check + 30),
        "projected_end_at": at(check + 95),
        "nurse_id": "nurse-1",
        "second_id": "nurse-2",
    }
    return Start(**(given | fields))
