"""What if: a problem as it would be with a nurse gone, more units ordered, a bed on another ward.

A supposition changes what a planner is asked, never what was recorded.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import datetime

from server.domain.plan.problem import PlanUnit, Problem
from server.domain.words import Component, Priority
from server.domain.workload.capacity import OnDuty
from server.domain.workload.period import Period
from server.domain.workload.task import Task


@dataclass(frozen=True, slots=True)
class Leaves:
    """A nurse goes off duty at an instant, earlier than planned."""

    staff_id: str
    leaves_at: datetime


@dataclass(frozen=True, slots=True)
class MoreUnits:
    """More units are ordered for a bed, each of so many mL, to be had from an instant on.

    `duration_minutes` None: as fast as the policy permits.
    """

    bed: str
    component: Component
    priority: Priority
    count: int
    ready_at: datetime
    volume_ml: float
    duration_minutes: int | None = None


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


def suppose(problem: Problem, supposed: Suppositions) -> Problem:
    """Answer the problem as it would be with nurses gone and beds on another ward.

    More units are part of the ward before the problem is put: see `supposed_pictures`.
    """
    left = {one.staff_id: one.leaves_at for one in supposed.leaves}
    people = [_until(one, left.get(one.staff_id)) for one in problem.capacity.on_duty]
    on_duty = tuple(one for one in people if one is not None)
    gone = {one.bed: one.moves_at for one in supposed.moves}
    return replace(
        problem,
        units=_staying(problem.units, gone),
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
