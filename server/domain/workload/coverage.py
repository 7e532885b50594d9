"""When nobody is there: a break without cover, no second person, nobody who can start a unit."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime, timedelta
from itertools import chain, pairwise

from server.domain.cover import Absence, Cover, gaps
from server.domain.workload.capacity import OnDuty
from server.domain.workload.finding import Snag, WorkFinding
from server.domain.workload.load import SLOT
from server.domain.workload.period import Period
from server.domain.workload.periods import at_work, common, merged, without
from server.domain.workload.task import Task, Work


def uncovered_breaks(
    holding: Iterable[str], on_duty: Iterable[OnDuty], covers: Iterable[Cover], period: Period
) -> Iterator[WorkFinding]:
    """Answer when nobody is there for the units of those who have some, `holding`."""
    nurses, listed = tuple(holding), tuple(covers)
    absences = [
        Absence(one.staff_id, away.from_at, away.until_at)
        for one in on_duty
        for away in one.breaks
        if away.overlaps(period)
    ]
    alone: defaultdict[tuple[str, str], list[Period]] = defaultdict(list)
    for begin, end in pairwise(_edges(absences, listed, period)):
        for gap in gaps(nurses, absences, listed, begin):
            alone[gap.nurse_id, gap.answering_id].append(Period(begin, end))
    for people, periods in alone.items():
        for stretch in merged(periods):
            yield WorkFinding(Snag.NO_COVER, stretch, tuple(dict.fromkeys(people)))


def _edges(absences: Iterable[Absence], covers: Iterable[Cover], period: Period) -> list[datetime]:
    """The instants of a period at which somebody goes, comes, or begins or ends to cover."""
    begins_and_ends = chain(
        (period.from_at, period.until_at),
        *((one.from_at, one.until_at) for one in absences),
        *((one.from_at, one.over_at) for one in covers),
    )
    inside = {at for at in begins_and_ends if period.from_at <= at <= period.until_at}
    return sorted(inside)


def missing_seconds(tasks: Sequence[Task], on_duty: Iterable[OnDuty]) -> Iterator[WorkFinding]:
    """Answer second checks without a name for which nobody trained is free where they lie."""
    trained = [one for one in on_duty if one.may_second]
    for task in tasks:
        if task.work is not Work.SECOND_CHECK or task.staff_id is not None:
            continue
        first = {one.staff_id for one in tasks if _is_first_of(one, task)}
        free = (one.staff_id for one in trained if one.is_free(task.period))
        if not any(who not in first and not _is_busy(who, task.period, tasks) for who in free):
            yield WorkFinding(Snag.NO_SECOND, task.period, (), (task,))


def _is_first_of(one: Task, second: Task) -> bool:
    return one.work is Work.CHECK_AND_START and one.episode_id == second.episode_id


def _is_busy(staff_id: str, period: Period, tasks: Iterable[Task]) -> bool:
    """Whether time-locked work keeps somebody elsewhere."""
    theirs = (task for task in tasks if task.staff_id == staff_id and task.is_locked)
    return any(task.period.overlaps(period) for task in theirs)


def nobody_to_start(
    tasks: Sequence[Task],
    on_duty: Sequence[OnDuty],
    period: Period,
    shortest: timedelta = SLOT,
) -> Iterator[WorkFinding]:
    """Answer stretches, `shortest` or longer, in which nobody who may start a unit is free."""
    able = {one.staff_id for one in on_duty if one.may_start}
    free = [one for who in sorted(able) for one in _free(who, tasks, on_duty, period)]
    for stretch in without(period, free):
        if stretch.length >= shortest:
            yield WorkFinding(Snag.NOBODY_TO_START, stretch)


def _free(
    staff_id: str, tasks: Iterable[Task], on_duty: Iterable[OnDuty], period: Period
) -> Iterator[Period]:
    shifts = [one for one in on_duty if one.staff_id == staff_id and one.may_start]
    locked = [task.period for task in tasks if task.staff_id == staff_id and task.is_locked]
    for there in at_work(shifts, period):
        yield from without(there, (common(there, one) for one in locked if one.overlaps(there)))
