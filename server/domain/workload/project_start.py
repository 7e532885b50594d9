"""From a planned start to the nurse work that it brings."""

from collections.abc import Iterable, Iterator
from dataclasses import replace
from datetime import datetime, timedelta
from typing import Final

from server.domain.cover import Cover, who_answers
from server.domain.plan.problem import PlanUnit, Terms
from server.domain.plan.proposal import Start
from server.domain.plan.watch import spare_of
from server.domain.workload.capacity import Collector
from server.domain.workload.projection import in_order
from server.domain.workload.task import Task, Work

# Whoever the plan names does these; what comes later is done by who has the unit then.
_NAMED: Final = frozenset({Work.COLLECT, Work.CHECK_AND_START, Work.SECOND_CHECK, Work.WATCH})


def project_start(
    start: Start,
    unit: PlanUnit,
    terms: Terms,
    *,
    collected_by: Collector = Collector.PORTER,
    covers: Iterable[Cover] = (),
) -> tuple[Task, ...]:
    """Answer the tasks of a planned start, in order of time.

    The start is locked where the plan put it. A check lies where the plan laid it, otherwise when
    it falls due, and may move in its window. A unit that nurses collect is fetched by whoever
    starts it. `unit` is the one that `start` was planned for.
    """
    listed = tuple(covers)
    tasks = (*_beginning(start, unit, terms, collected_by), *_following(start, unit, terms))
    return in_order(task if task.work in _NAMED else _named(task, listed) for task in tasks)


def _named(task: Task, covers: tuple[Cover, ...]) -> Task:
    return replace(task, staff_id=who_answers(task.staff_id or "", covers, task.at))


def _beginning(
    start: Start, unit: PlanUnit, terms: Terms, collected_by: Collector
) -> Iterator[Task]:
    if start.call_at is not None and collected_by is Collector.NURSE:
        yield _locked(unit, Work.COLLECT, start.nurse_id, start.call_at, terms.collect)
    yield _locked(unit, Work.CHECK_AND_START, start.nurse_id, start.check_at, terms.check)
    if start.second_id is not None:
        length = terms.lengths[Work.SECOND_CHECK]
        yield _locked(unit, Work.SECOND_CHECK, start.second_id, start.check_at, length)
    if terms.watch:
        yield _locked(unit, Work.WATCH, start.nurse_id, start.start_at, terms.watch)


def _following(start: Start, unit: PlanUnit, terms: Terms) -> Iterator[Task]:
    laid = {(one.work, one.n): one.at for one in start.checks}
    for check in unit.checks:
        earliest, latest = start.start_at + check.earliest, start.start_at + check.latest
        at = laid.get((check.work, check.n), start.start_at + check.due)
        length = terms.lengths[check.work]
        yield Task(
            unit.episode_id,
            unit.bed,
            check.work,
            check.n,
            start.nurse_id,
            at,
            earliest,
            latest,
            length,
        )
    yield _finish(start, unit, terms, laid.get((Work.FINISH, 1), start.projected_end_at))


def _finish(start: Start, unit: PlanUnit, terms: Terms, at: datetime) -> Task:
    """Taking down: an empty bag may hang a little, as far as its limit leaves room."""
    spare = spare_of(start, unit, terms)
    room = terms.finish_grace if spare is None else timedelta(minutes=max(0, spare))
    latest = max(at, start.projected_end_at + min(terms.finish_grace, room))
    task = _locked(unit, Work.FINISH, start.nurse_id, at, terms.lengths[Work.FINISH])
    return replace(task, earliest=min(at, start.projected_end_at), latest=latest)


def _locked(unit: PlanUnit, work: Work, staff_id: str, at: datetime, length: timedelta) -> Task:
    return Task(unit.episode_id, unit.bed, work, 1, staff_id, at, at, at, length)
