"""Tiny wards for plans: two or three nurses, a few units, minutes from one base instant."""

from datetime import datetime, timedelta
from typing import Any, Final

from server.domain.plan.problem import PlanCheck, PlanUnit, Problem, Terms
from server.domain.plan.proposal import PlannedCheck, Start
from server.domain.plan.way import Placing, start_of
from server.domain.words import Component, Priority
from server.domain.workload.capacity import Capacity, OnDuty, WardRules
from server.domain.workload.period import Period
from server.domain.workload.task import Task, Work
from tests.domain.builders import at

NAMES: Final = {"ana": "Ana Reed", "bo": "Bo Lind", "cy": "Cy Moss"}
LENGTHS: Final = {
    Work.FIRST_CHECK: timedelta(minutes=5),
    Work.END_CHECK: timedelta(minutes=5),
    Work.FINISH: timedelta(minutes=5),
}


def span(minutes: float) -> timedelta:
    """So many minutes."""
    return timedelta(minutes=minutes)


def stretch(begin: float, end: float) -> Period:
    """From one minute to another."""
    return Period(at(begin), at(end))


TERMS: Final = Terms(
    grid=span(5),
    collect=span(20),
    carried=span(15),
    check=span(10),
    watch=span(15),
    start_within=span(30),
    checkers=2,
    lengths=LENGTHS,
)


def a_unit(name: str, **changes: Any) -> PlanUnit:
    """A routine unit in storage that runs for an hour, with a first check and one at its end."""
    given: dict[str, Any] = {
        "patient_id": f"patient of {name}",
        "bed": name[-1],
        "component": Component.RED_CELLS,
        "priority": Priority.ROUTINE,
        "ready_at": at(-60),
        "runs": span(60),
        "finish_within": span(240),
        "checks": (
            PlanCheck(Work.FIRST_CHECK, 1, span(10), span(15), span(20)),
            PlanCheck(Work.END_CHECK, 1, span(60), span(75), span(120)),
        ),
    }
    return PlanUnit(name, **(given | changes))


def a_nurse(name: str, **changes: Any) -> OnDuty:
    """Somebody on duty all the time and trained for everything."""
    given: dict[str, Any] = {"period": stretch(-600, 1200)}
    return OnDuty(f"shift of {name}", name, **(given | changes))


def a_ward(
    *units: PlanUnit,
    nurses: tuple[OnDuty, ...] = (a_nurse("ana"), a_nurse("bo")),
    tasks: tuple[Task, ...] = (),
    rules: WardRules | None = None,
    **changes: Any,
) -> Problem:
    """Four hours of a ward."""
    capacity = Capacity("w1", at(0), nurses, rules or WardRules())
    given: dict[str, Any] = {
        "from_at": at(0),
        "until_at": at(240),
        "terms": TERMS,
        "names": NAMES,
    }
    return Problem("w1", units=units, tasks=tasks, capacity=capacity, **(given | changes))


def a_task(name: str, work: Work, begin: float, length: float, **changes: Any) -> Task:
    """Locked work of a unit that is under way, by Ana."""
    given: dict[str, Any] = {
        "n": 1,
        "staff_id": "ana",
        "at": at(begin),
        "earliest": at(begin),
        "latest": at(begin),
        "length": span(length),
    }
    return Task(name, name[-1], work, **(given | changes))


def a_start(
    unit: PlanUnit,
    minute: float,
    nurse: str = "ana",
    second: str | None = "bo",
    terms: Terms = TERMS,
    checks: tuple[PlannedCheck, ...] | None = None,
) -> Start:
    """A start with everything that follows laid where it is due."""
    return start_of(
        unit,
        terms,
        Placing(at(minute), nurse, second),
        due_checks(unit, minute) if checks is None else checks,
    )


def due_checks(unit: PlanUnit, minute: float) -> tuple[PlannedCheck, ...]:
    """Each check where it is due, and the end."""
    begun: datetime = at(minute + 10)
    checks = tuple(PlannedCheck(one.work, one.n, begun + one.due) for one in unit.checks)
    return (*checks, PlannedCheck(Work.FINISH, 1, begun + unit.runs))
