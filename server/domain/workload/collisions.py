"""Work that cannot be done where it lies: two things at once, or while somebody is away.

Only what cannot be mended by moving a task within its own window is told.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from typing import Final

from server.domain.workload.capacity import OnDuty
from server.domain.workload.finding import Snag, WorkFinding
from server.domain.workload.period import Period
from server.domain.workload.periods import at_work, common, fits, without
from server.domain.workload.projection import in_order
from server.domain.workload.task import Task, Work

_STARTING: Final = frozenset({Work.CHECK_AND_START, Work.WATCH})


def collisions(tasks: Iterable[Task]) -> Iterator[WorkFinding]:
    """Answer every two tasks of one person, in different beds, that have to overlap."""
    theirs: defaultdict[str, list[Task]] = defaultdict(list)
    for task in in_order(tasks):
        if task.staff_id is not None:
            theirs[task.staff_id].append(task)
    for staff_id, listed in theirs.items():
        for place, first in enumerate(listed):
            for second in _begun_during(first, listed[place + 1 :]):
                if first.bed != second.bed and not _can_be_apart(first, second):
                    period = common(first.period, second.period)
                    yield WorkFinding(Snag.COLLISION, period, (staff_id,), (first, second))


def _begun_during(first: Task, later: Sequence[Task]) -> Iterator[Task]:
    """What overlaps a task, of those that are expected after it."""
    for task in later:
        if task.at >= first.period.until_at:
            return
        yield task


def _can_be_apart(one: Task, other: Task) -> bool:
    """Whether their windows let either be done before the other."""
    before = one.earliest + one.length <= other.latest
    return before or other.earliest + other.length <= one.latest


def away_from_work(tasks: Iterable[Task], on_duty: Iterable[OnDuty]) -> Iterator[WorkFinding]:
    """Answer work that falls into its person's break or duty, or outside their shift.

    What lies outside the shift is told together for each person and unit: it has to be handed over.
    """
    shifts: defaultdict[str, list[OnDuty]] = defaultdict(list)
    for one in on_duty:
        shifts[one.staff_id].append(one)
    outside: defaultdict[tuple[str, str], list[Task]] = defaultdict(list)
    for task in in_order(tasks):
        if task.staff_id is None or _is_possible(task, shifts[task.staff_id]):
            continue
        found = next(_away(task, task.staff_id, shifts[task.staff_id]), None)
        if found is None:
            outside[task.staff_id, task.episode_id].append(task)
        else:
            yield found
    for (staff_id, _), listed in outside.items():
        period = Period(listed[0].at, max(task.period.until_at for task in listed))
        yield WorkFinding(Snag.OFF_SHIFT, period, (staff_id,), tuple(listed))


def _is_possible(task: Task, shifts: Sequence[OnDuty]) -> bool:
    if any(shift.is_free(task.period) for shift in shifts):
        return True
    window = Period(task.earliest, task.latest + task.length)
    return fits(task.length, task.earliest, task.latest, at_work(shifts, window))


def _away(task: Task, staff_id: str, shifts: Sequence[OnDuty]) -> Iterator[WorkFinding]:
    """What it falls into while its person is on duty, a break first."""
    for shift in shifts:
        duties = tuple(duty.period for duty in shift.duties)
        for snag, periods in ((Snag.BREAK, shift.breaks), (Snag.DUTY, duties)):
            for period in periods:
                if period.overlaps(task.period):
                    yield WorkFinding(snag, common(period, task.period), (staff_id,), (task,))


def starts_in_handovers(
    tasks: Iterable[Task], handovers: Sequence[Period]
) -> Iterator[WorkFinding]:
    """Answer outstanding starts whose check or watched beginning falls into a handover."""
    for listed in _starting(tasks):
        check, whole = listed[0], _whole(listed)
        touched = [one for one in handovers if one.overlaps(whole)]
        if check.work is Work.CHECK_AND_START and touched:
            window = Period(check.earliest, check.latest + whole.length)
            if not fits(whole.length, check.earliest, check.latest, without(window, handovers)):
                staff = (check.staff_id,) if check.staff_id else ()
                yield WorkFinding(Snag.HANDOVER, common(touched[0], whole), staff, listed)


def too_many_starts(tasks: Iterable[Task], most: int | None) -> Iterator[WorkFinding]:
    """Answer when more units are in check and watched beginning at once than the ward allows."""
    if most is None:
        return
    whole = {
        listed: Period(listed[0].at, listed[-1].period.until_at) for listed in _starting(tasks)
    }
    instants = sorted({at for one in whole.values() for at in (one.from_at, one.until_at)})
    crowd: set[tuple[Task, ...]] = set()
    since = None
    for at in instants:
        present = {listed for listed, one in whole.items() if one.contains(at)}
        if len(present) > most:
            since, crowd = since or at, crowd | present
        elif since is not None:
            involved = in_order(task for listed in crowd for task in listed)
            yield WorkFinding(Snag.TOO_MANY_STARTS, Period(since, at), (), involved, most)
            since, crowd = None, set()


def _starting(tasks: Iterable[Task]) -> list[tuple[Task, ...]]:
    """The check and watched beginning of each unit, in order of time."""
    units: defaultdict[str, list[Task]] = defaultdict(list)
    for task in in_order(tasks):
        if task.work in _STARTING:
            units[task.episode_id].append(task)
    return [tuple(listed) for listed in units.values()]


def _whole(listed: tuple[Task, ...]) -> Period:
    return Period(listed[0].at, max(task.period.until_at for task in listed))
