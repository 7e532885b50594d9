"""What a week came to, measured by the engine from what was recorded in it."""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from datetime import datetime, timedelta
from typing import Final

from server.domain.clock import SECOND
from server.domain.payloads import Assigned
from server.domain.picture import Picture
from server.domain.words import ClockName, Priority, Stage
from server.domain.workload.load import load_of
from server.domain.workload.project import WORK_OF
from server.domain.workload.task import Task, Work
from tests.benchmarks.week.demand import MINUTE
from tests.benchmarks.week.people import Turn
from tests.benchmarks.week.unit import Unit
from tests.benchmarks.week.ward import END

FIGURES: Final = (
    "first checks late or missed",
    "starts after 30 min",
    "finishes past the limit",
    "other checks late or missed",
    "reminders escalated",
    "minutes over capacity",
    "minutes to start, urgent",
    "minutes to start, routine",
)


def measured(wards: Iterable[tuple[list[Turn], list[Unit]]]) -> Mapping[str, float]:
    """Answer the figures of one week of all wards. Waits are means, everything else sums."""
    listed = list(wards)
    units = [unit for _, theirs in listed for unit in theirs]
    last = {unit.id: unit.picture(END) for unit in units}
    late: Counter[ClockName] = Counter()
    escalated = 0
    for unit in units:
        for breach in last[unit.id].breaches:
            late[breach.clock] += 1
            escalated += _was_escalated(unit, breach.clock, breach.n, breach.limit_at)
    apart = (ClockName.FIRST_CHECK, ClockName.START, ClockName.FINISH)
    over = sum(_over(turns, _tasks(theirs, last)) for turns, theirs in listed)
    return dict(
        zip(
            FIGURES,
            (
                *(float(late[name]) for name in apart),
                float(sum(count for name, count in late.items() if name not in apart)),
                float(escalated),
                over,
                _wait(units, urgent=True),
                _wait(units, urgent=False),
            ),
            strict=True,
        )
    )


def _was_escalated(unit: Unit, clock: ClockName, n: int, limit_at: datetime) -> bool:
    """Whether a reminder went on to the charge nurse, had it been looked at then."""
    at = limit_at + unit.policy.reminders_escalate + SECOND
    owed = unit.picture(at).reminders
    return any((one.clock, one.n, one.stage) == (clock, n, Stage.ESCALATE) for one in owed)


def _wait(units: Iterable[Unit], *, urgent: bool) -> float:
    waits = [
        (unit.started_at - unit.request.recorded_at) / MINUTE
        for unit in units
        if unit.started_at is not None
        and unit.request.n == 1
        and (unit.request.priority is not Priority.ROUTINE) is urgent
    ]
    return sum(waits) / len(waits)


def _over(turns: Iterable[Turn], tasks: list[Task]) -> float:
    """Minutes of work that lay where its person could not do it."""
    total = timedelta(0)
    for turn in turns:
        theirs = [task for task in tasks if task.staff_id == turn.staff_id]
        load = load_of(theirs, [turn.duty], turn.duty.period)
        total += sum((one.over for one in load.people), timedelta(0))
    return total / MINUTE


def _tasks(units: Iterable[Unit], last: Mapping[str, Picture]) -> list[Task]:
    return [task for unit in units for task in _of_unit(unit, last[unit.id])]


def _of_unit(unit: Unit, seen: Picture) -> Iterator[Task]:
    """The work of a unit where it fell due, whoever did it and when."""
    if unit.begun_at is None or unit.started_at is None or unit.ended_at is None:
        return
    policy = unit.policy
    checked = unit.started_at - unit.begun_at
    yield _task(unit, Work.CHECK_AND_START, unit.begun_at, checked)
    yield _task(unit, Work.WATCH, unit.started_at, policy.rate_first)
    yield _task(unit, Work.FINISH, unit.ended_at, policy.work_finish)
    for clock, _ in seen.clocks:
        if clock.name in WORK_OF and clock.due_at is not None and clock.met_at is not None:
            yield _task(unit, WORK_OF[clock.name], clock.due_at, policy.work_vitals)


def _task(unit: Unit, work: Work, at: datetime, length: timedelta) -> Task:
    return Task(unit.id, unit.request.bed, work, 1, _nurse(unit, at), at, at, at, length)


def _nurse(unit: Unit, at: datetime) -> str | None:
    """Who answered for the unit then."""
    given = (one for one in unit.events if isinstance(one.payload, Assigned))
    had = [one.payload for one in given if one.happened_at <= at]
    return had[-1].nurse_id if had and isinstance(had[-1], Assigned) else None
