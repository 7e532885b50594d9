"""Laying the work that may move: checks after a start, and what units under way still ask for."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta

from server.domain.plan.diary import Diary
from server.domain.plan.problem import PlanUnit, Problem
from server.domain.plan.proposal import LaidTask, PlannedCheck, Start
from server.domain.plan.score import movable
from server.domain.plan.way import (
    NOTHING,
    FollowUp,
    Placing,
    follow_ups,
    start_of,
    steps_around,
)
from server.domain.workload.period import Period
from server.domain.workload.task import Task, Work


@dataclass(frozen=True, slots=True)
class Draft:
    """Starts, in the order of their checks, and where movable work under way is laid."""

    starts: tuple[Start, ...]
    laid: tuple[LaidTask, ...] = ()


Key = tuple[str, Work, int]
Laid = Mapping[Key, datetime]


@dataclass(frozen=True, slots=True)
class Piece:
    """Work that one person has, and the instants at which it may begin, the best first."""

    key: Key
    staff_id: str
    places: tuple[datetime, ...]
    length: timedelta

    def period(self, at: datetime) -> Period:
        """When it keeps its person busy if it begins at an instant."""
        return Period(at, at + self.length)


def draft(problem: Problem, placings: Mapping[str, Placing], laid: Laid | None = None) -> Draft:
    """Put units at their places and lay what follows wherever its nurse is free, nearest to due.

    `laid` says where pieces lie already; they stay there unless a place nearer to due is free.
    """
    diary = Diary(problem)
    units = [unit for unit in problem.units if unit.episode_id in placings]
    for unit in units:
        diary.place(unit, placings[unit.episode_id])
    pieces = [*task_pieces(problem), *_followers(problem, units, placings)]
    found = lay(diary, pieces, laid or {})
    return draft_of(problem, placings, found)


def draft_of(problem: Problem, placings: Mapping[str, Placing], laid: Laid) -> Draft:
    """Put units at their places with their pieces where they are laid."""
    units = [unit for unit in problem.units if unit.episode_id in placings]
    starts = [
        start_of(unit, problem.terms, placings[unit.episode_id], _checks(unit, problem, laid))
        for unit in units
    ]
    tasks = [
        LaidTask(*key, laid[key]) for task in movable(problem) if (key := key_of(task)) in laid
    ]
    return Draft(tuple(sorted(starts, key=by_check)), tuple(tasks))


def by_check(start: Start) -> tuple[datetime, str]:
    """The order in which starts are listed."""
    return (start.check_at, start.episode_id)


def lay(diary: Diary, pieces: Iterable[Piece], laid: Laid) -> dict[Key, datetime]:
    """Lay pieces where their person is free, what must be done first before the others.

    What lies already keeps others off; a piece without a free place is left out.
    """
    found = dict(laid)
    listed = sorted(pieces, key=_urgency)
    for one in listed:
        if one.key in found:
            diary.write(one.staff_id, one.period(found[one.key]))
    for one in listed:
        if one.key in found:
            diary.erase(one.staff_id, one.period(found.pop(one.key)))
        at = first_free(diary, one)
        if at is not None:
            diary.write(one.staff_id, one.period(at))
            found[one.key] = at
    return found


def task_pieces(problem: Problem) -> Iterator[Piece]:
    """The movable work of units under way, along the grid from where it is expected."""
    for task in movable(problem):
        places = task_places(task, problem.terms.grid, problem.capacity.as_of)
        yield Piece(key_of(task), task.staff_id or "", places, task.length)


def key_of(task: Task) -> Key:
    """What names a piece of work on a ward."""
    return (task.episode_id, task.work, task.n)


def task_places(task: Task, grid: timedelta, as_of: datetime) -> tuple[datetime, ...]:
    """Where a movable task may begin, nearest to `at` first; never before the present instant."""
    earliest = max(task.earliest, min(as_of, task.latest))
    steps = steps_around(NOTHING, earliest - task.at, task.latest - task.at, grid)
    return tuple(task.at + step for step in steps)


def unit_pieces(unit: PlanUnit, placing: Placing, owed: Iterable[FollowUp]) -> Iterator[Piece]:
    """What follows a start at its place, by its nurse."""
    for one in owed:
        places = tuple(placing.check_at + offset for offset in one.offsets)
        key = (unit.episode_id, one.work, one.n)
        yield Piece(key, placing.nurse_id, places, one.length)


def _followers(
    problem: Problem, units: Iterable[PlanUnit], placings: Mapping[str, Placing]
) -> Iterator[Piece]:
    for unit in units:
        owed = follow_ups(unit, problem.terms)
        yield from unit_pieces(unit, placings[unit.episode_id], owed)


def _checks(unit: PlanUnit, problem: Problem, laid: Laid) -> tuple[PlannedCheck, ...]:
    keys = [(unit.episode_id, one.work, one.n) for one in follow_ups(unit, problem.terms)]
    return tuple(PlannedCheck(key[1], key[2], laid[key]) for key in keys if key in laid)


def first_free(diary: Diary, piece: Piece) -> datetime | None:
    """Answer the best place at which the person of a piece is free."""
    free = (at for at in piece.places if diary.is_free(piece.staff_id, piece.period(at)))
    return next(free, None)


def _urgency(piece: Piece) -> tuple[object, ...]:
    """What cannot move first, then what has to be done earliest."""
    return (len(piece.places) > 1, max(piece.places), piece.key)
