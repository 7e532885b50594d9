"""What if: a problem as it would be with a nurse gone, more units ordered, a bed on another ward.

A supposition changes what a planner is asked, never what was recorded.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from itertools import chain
from typing import Final

from server.domain.plan.problem import PlanUnit, Problem
from server.domain.words import Component, Priority
from server.domain.workload.capacity import OnDuty
from server.domain.workload.period import Period
from server.domain.workload.task import Task

SUPPOSED_ID: Final = "supposed"


@dataclass(frozen=True, slots=True)
class Leaves:
    """A nurse goes off duty at an instant, earlier than planned."""

    staff_id: str
    leaves_at: datetime


@dataclass(frozen=True, slots=True)
class MoreUnits:
    """More units are ordered for a bed, to be had from an instant on."""

    bed: str
    component: Component
    priority: Priority
    count: int
    ready_at: datetime


@dataclass(frozen=True, slots=True)
class BedMoves:
    """The patient in a bed goes to another ward at an instant, with everything still to be done."""

    bed: str
    moves_at: datetime


@dataclass(frozen=True, slots=True)
class Suppositions:
    """Everything that is supposed at once."""

    leaves: tuple[Leaves, ...] = ()
    more: tuple[MoreUnits, ...] = ()
    moves: tuple[BedMoves, ...] = ()

    @property
    def is_empty(self) -> bool:
        """Whether nothing is supposed."""
        return not (self.leaves or self.more or self.moves)


MakeUnits = Callable[[MoreUnits, Sequence[str]], Sequence[PlanUnit]]


def suppose(problem: Problem, supposed: Suppositions, make_units: MakeUnits) -> Problem:
    """Answer the problem as it would be.

    `make_units` makes the units of one supposed order with these ids, as the ward's policy has
    them; they follow each other as units of one patient do.
    """
    left = {one.staff_id: one.leaves_at for one in supposed.leaves}
    people = [_until(one, left.get(one.staff_id)) for one in problem.capacity.on_duty]
    on_duty = tuple(one for one in people if one is not None)
    gone = {one.bed: one.moves_at for one in supposed.moves}
    more = chain.from_iterable(
        make_units(one, [f"{SUPPOSED_ID}-{place}-{n}" for n in range(1, one.count + 1)])
        for place, one in enumerate(supposed.more, start=1)
    )
    return replace(
        problem,
        units=(*_staying(problem.units, gone), *more),
        tasks=_still_here(problem.tasks, gone),
        capacity=replace(problem.capacity, on_duty=on_duty),
    )


def _until(one: OnDuty, leaves_at: datetime | None) -> OnDuty | None:
    """The shift cut short; None where nothing of it is left."""
    if leaves_at is None or leaves_at >= one.period.until_at:
        return one
    if leaves_at <= one.period.from_at:
        return None
    return replace(one, period=Period(one.period.from_at, leaves_at))


def _staying(units: Iterable[PlanUnit], gone: dict[str, datetime]) -> tuple[PlanUnit, ...]:
    """The units that are still to be planned: those of a bed that moves are its new ward's."""
    return tuple(unit for unit in units if unit.bed not in gone)


def _still_here(tasks: Iterable[Task], gone: dict[str, datetime]) -> tuple[Task, ...]:
    return tuple(task for task in tasks if task.bed not in gone or task.at < gone[task.bed])
