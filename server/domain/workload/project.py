"""From a live unit to the nurse work still ahead of it.

Windows are those of the clocks; what is not known is left out, and said.
"""

from collections.abc import Iterable, Iterator
from dataclasses import replace
from datetime import datetime, timedelta
from typing import Final

from server.domain.clocks_unit import finish_limit_at
from server.domain.cover import Cover, who_answers
from server.domain.picture import Picture
from server.domain.plan.problem import Terms
from server.domain.words import ClockName
from server.domain.workload.course import Course, course_of, why_no_end, why_not_started
from server.domain.workload.period import Period
from server.domain.workload.projection import LeftOut, NotKnown, Projection, in_order, together
from server.domain.workload.sets import SetAhead, sets_ahead
from server.domain.workload.task import Task, Work

WORK_OF: Final = {
    ClockName.FIRST_CHECK: Work.FIRST_CHECK,
    ClockName.RUNNING_CHECK: Work.RUNNING_CHECK,
    ClockName.REACTION_CHECK: Work.REACTION_CHECK,
    ClockName.END_CHECK: Work.END_CHECK,
}
AFTER_THE_END: Final = (Work.FINISH, Work.END_CHECK)
FROM_THE_CHECK: Final = (
    Work.CHECK_AND_START,
    Work.SECOND_CHECK,
    Work.WATCH,
    Work.FIRST_CHECK,
    Work.RUNNING_CHECK,
    *AFTER_THE_END,
)


def project_ward(
    pictures: Iterable[Picture], terms: Terms, period: Period, covers: Iterable[Cover] = ()
) -> Projection:
    """Answer the work ahead of all units of a ward that falls into a period."""
    listed = tuple(covers)
    return together(project(picture, terms, period, listed) for picture in pictures)


def project(
    picture: Picture, terms: Terms, period: Period, covers: Iterable[Cover] = ()
) -> Projection:
    """Answer the tasks of one unit, from the instant of its picture on, that meet `period`.

    `terms` are the ward's; windows are those of the policy that the unit is judged by. A task is
    its nurse's, or whoever's who covers for them at its instant; nobody is named as the second
    person. A unit still in storage has no tasks: what it needs depends on the plan.
    """
    why = why_not_started(picture)
    if why is not None:
        return Projection(left_out=(_left_out(picture, why, FROM_THE_CHECK),))
    course = course_of(picture, terms)
    if course is None:
        return Projection()
    nurse, listed = picture.episode.nurse_id, tuple(covers)
    tasks = in_order(
        _named(task, nurse, listed)
        for task in _tasks(course, terms, period.until_at)
        if task.period.overlaps(period)
    )
    unknown = why_no_end(course)
    left_out = () if unknown is None else (_left_out(picture, unknown, AFTER_THE_END),)
    return Projection(tasks, left_out)


def _left_out(picture: Picture, why: NotKnown, works: tuple[Work, ...]) -> LeftOut:
    request = picture.case.request
    return LeftOut(request.id, request.bed, why, works)


def _named(task: Task, nurse_id: str | None, covers: tuple[Cover, ...]) -> Task:
    if nurse_id is None or task.work is Work.SECOND_CHECK:
        return task
    return replace(task, staff_id=who_answers(nurse_id, covers, task.at))


def _tasks(course: Course, terms: Terms, until: datetime) -> Iterator[Task]:
    yield from _start(course, terms)
    yield from _watch(course, terms)
    limit = finish_limit_at(course.facts)
    last = until if limit is None else max(course.now, limit)
    for ahead in sets_ahead(course.facts, course.now, until):
        # Where the end is not known the schedule goes on for ever; the unit is down by its limit.
        if ahead.clock.name is not ClockName.RUNNING_CHECK or ahead.at <= last:
            yield _set(course, ahead, terms)
    if course.end_at is not None:
        yield _finish(course, terms, course.end_at, limit)


def _start(course: Course, terms: Terms) -> Iterator[Task]:
    """The check and the start, and the second person where their check is outstanding."""
    if course.check_at is None:
        return
    yield _task(course, Work.CHECK_AND_START, course.check_at, terms.check)
    if terms.checkers > 1 and course.facts.episode.identity_at is None:
        length = terms.lengths[Work.SECOND_CHECK]
        yield _task(course, Work.SECOND_CHECK, course.check_at, length)


def _watch(course: Course, terms: Terms) -> Iterator[Task]:
    """What is left of the watched beginning."""
    episode = course.facts.episode
    start = episode.started_at
    if start is None:
        return
    over = start + terms.watch
    until = over if episode.ended_at is None else min(over, episode.ended_at)
    at = max(start, course.now)
    if at < until:
        yield _task(course, Work.WATCH, at, until - at)


def _task(course: Course, work: Work, at: datetime, length: timedelta) -> Task:
    """Work that lies where it lies, or as much later as the outstanding start may come."""
    request = course.facts.episode.request
    return Task(request.id, request.bed, work, 1, None, at, at, at + course.slack, length)


def _finish(course: Course, terms: Terms, end: datetime, limit: datetime | None) -> Task:
    """Taking down, from the expected end on; an empty bag may hang a little, up to the limit."""
    task = _task(course, Work.FINISH, end, terms.lengths[Work.FINISH])
    latest = task.latest + terms.finish_grace
    return replace(task, latest=latest if limit is None else max(end, min(latest, limit)))


def _set(course: Course, ahead: SetAhead, terms: Terms) -> Task:
    """A set of vital signs in the window of its check; one that is late already, at once."""
    clock, request = ahead.clock, course.facts.episode.request
    work = WORK_OF[clock.name]
    earliest = max(course.now, clock.opens_at or ahead.at)
    latest = max(ahead.at, (clock.limit_at or ahead.at) + course.slack)
    length = terms.lengths[work]
    return Task(request.id, request.bed, work, clock.n, None, ahead.at, earliest, latest, length)
