"""Invented wards of any size by seed: units, people, limits and work under way."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from random import Random
from typing import Final

from server.domain.plan.problem import PlanCheck, PlanUnit, Problem, Terms
from server.domain.words import Component, Priority
from server.domain.workload.capacity import Capacity, NightRule, OnDuty, WardRules
from server.domain.workload.period import Period
from server.domain.workload.task import Task, Work

BASE: Final = datetime(2026, 3, 3, 15, 0, tzinfo=UTC)
LENGTHS: Final = {
    Work.COLLECT: timedelta(minutes=20),
    Work.CHECK_AND_START: timedelta(minutes=10),
    Work.SECOND_CHECK: timedelta(minutes=10),
    Work.WATCH: timedelta(minutes=15),
    Work.FIRST_CHECK: timedelta(minutes=5),
    Work.RUNNING_CHECK: timedelta(minutes=5),
    Work.FINISH: timedelta(minutes=5),
    Work.END_CHECK: timedelta(minutes=5),
}


def at(minutes: float) -> datetime:
    """An instant of the invented evening."""
    return BASE + timedelta(minutes=minutes)


def span(minutes: float) -> timedelta:
    """So many minutes."""
    return timedelta(minutes=minutes)


TERMS: Final = Terms(
    grid=span(5),
    collect=span(20),
    carried=span(15),
    check=span(10),
    watch=span(15),
    start_within=span(30),
    checkers=2,
    lengths=LENGTHS,
    longest_wait=span(240),
)


@dataclass(frozen=True, slots=True)
class Size:
    """How large a ward is and how many of its units and nurses there are."""

    units: int
    nurses: int
    hours: int = 12


def ward(seed: int, size: Size) -> Problem:
    """An evening and a night of twelve hours with a handover, breaks, and some units running."""
    random = Random(seed)  # noqa: S311
    rules = WardRules(
        handovers=(Period(at(255), at(285)),),
        nights=(Period(at(300), at(1020)),),
        night_rule=NightRule.AVOIDED,
        most_starts=3,
        porters=4,
        issues_per_quarter=3,
    )
    people = tuple(_nurse(random, number, size) for number in range(size.nurses))
    return Problem(
        ward_id="w1",
        from_at=BASE,
        until_at=at(size.hours * 60),
        terms=TERMS,
        units=tuple(_units(random, size)),
        tasks=tuple(_tasks(size.nurses // 2)),
        capacity=Capacity("w1", BASE, people, rules),
    )


def _nurse(random: Random, number: int, size: Size) -> OnDuty:
    pause = 60 + 30 * (number % 6) + random.randrange(6) * 5
    shift = Period(at(-60), at(size.hours * 60 + 120))
    if number > 1 and random.random() < 0.2:
        early, late = Period(at(-60), at(270)), Period(at(240), shift.until_at)
        shift = early if random.random() < 0.5 else late
    breaks = (Period(at(pause), at(pause + 30)), Period(at(pause + 240), at(pause + 260)))
    trained = number == 0 or random.random() < 0.85
    return OnDuty(f"s{number}", f"n{number}", shift, breaks, may_start=trained)


def _units(random: Random, size: Size) -> Iterator[PlanUnit]:
    made = 0
    while made < size.units:
        before: str | None = None
        for _ in range(min(1 if random.random() < 0.7 else 2, size.units - made)):
            unit = _unit(random, made, before, size)
            yield unit
            made, before = made + 1, unit.episode_id


def _unit(random: Random, number: int, before: str | None, size: Size) -> PlanUnit:
    kinds = (*(Component.RED_CELLS,) * 5, Component.PLATELETS, Component.PLASMA)
    component = random.choice(kinds)
    is_red = component is Component.RED_CELLS
    runs = random.choice((90, 120, 150, 180) if is_red else (30, 45, 60))
    ready = random.randrange(size.hours * 25) if random.random() < 0.7 else -30
    return PlanUnit(
        episode_id=f"u{number:03}",
        patient_id=f"p{number if before is None else int(before[1:])}",
        bed=str(number if before is None else int(before[1:])),
        component=component,
        priority=random.choices(list(Priority), (0.5, 3, 12))[0],
        ready_at=at(ready),
        runs=span(runs),
        finish_within=span(240),
        checks=tuple(checks(runs)),
        after=before,
        gap=span(30 if before else 0),
        at_once=component is Component.PLATELETS,
        nurse_id=f"n{random.randrange(size.nurses)}" if random.random() < 0.5 else None,
    )


def checks(runs: int) -> Iterator[PlanCheck]:
    """The checks of a unit: a quarter of an hour after the start, hourly, and at its end."""
    yield PlanCheck(Work.FIRST_CHECK, 1, span(10), span(15), span(20))
    for n, due in enumerate(range(75, runs, 60), start=1):
        yield PlanCheck(Work.RUNNING_CHECK, n, span(due - 15), span(due), span(due + 15))
    yield PlanCheck(Work.END_CHECK, 1, span(runs), span(runs + 15), span(runs + 60))


def _tasks(count: int) -> Iterator[Task]:
    """Units under way: a check that may move a little, and an end that may not."""
    for n in range(count):
        check, end = 20 + 10 * n, 70 + 7 * n
        yield Task(
            f"l{n}",
            f"L{n}",
            Work.RUNNING_CHECK,
            1,
            f"n{n}",
            at(check),
            at(check - 15),
            at(check + 15),
            span(5),
        )
        yield Task(f"l{n}", f"L{n}", Work.FINISH, 1, f"n{n}", at(end), at(end), at(end), span(5))
