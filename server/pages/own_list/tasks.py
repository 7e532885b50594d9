"""What a unit asks of its nurse: each task with when it is due, and the form that does it."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Final

from server.domain.alarm import OF_STATE, RANK, Alarm
from server.domain.clock import OWED, Clock
from server.domain.picture import Picture
from server.domain.reminders import Reminder, acknowledgement_of
from server.domain.wording import ACTION, LEVEL
from server.domain.words import ClockName, ClockState, Kind, Level, Phase
from server.pages.episodes.clock_rows import STATE
from server.pages.episodes.pathway import STEP_OF_CLOCK
from server.pages.episodes.present import has_fresh_baseline
from server.pages.row_next import act_of
from server.store.reminders import RaisedReminder

FORM: Final[dict[ClockName, Kind]] = {
    ClockName.START: Kind.STARTED,
    ClockName.RETURN: Kind.STARTED,
    ClockName.FINISH: Kind.COMPLETED,
    ClockName.SET_CHANGE: Kind.SET_CHANGED,
    ClockName.FATE: Kind.FATE,
}
"""The form that meets a clock; every other clock is met by a set of observations."""

NO_STEP: Final = ""


@dataclass(frozen=True, slots=True)
class Task:
    """One thing to do, by the form of `kind` in the step `step` of the unit's pathway.

    `clocks` are those that one act meets, none for a reaction or a rate.

    `due_at` is where it stands by time; `shown_at`, counted as `count` says, is another instant
    that is told instead. `owed` is the last stage that its nurse is reminded of, None while there
    is none or somebody has it: `held_by`.
    """

    words: str
    state: str
    priority: Alarm
    due_at: datetime
    limit_at: datetime | None
    kind: Kind
    step: str = NO_STEP
    clocks: tuple[Clock, ...] = ()
    owed: Reminder | RaisedReminder | None = None
    held_by: str | None = None
    shown_at: datetime | None = None
    count: str = "due"

    @property
    def order(self) -> tuple[bool, datetime, int, str]:
        """A suspected reaction first, then by time; of one instant the most urgent first."""
        is_reaction = self.kind is Kind.REACTION_SUSPECTED
        return (not is_reaction, self.due_at, RANK[self.priority], self.words)


def tasks_of(picture: Picture) -> list[Task]:
    """Answer what a unit asks for, by time; clocks that one act meets are one task."""
    tasks: dict[str, Task] = {}
    for task in sorted(_all(picture), key=lambda task: task.order):
        # One set of observations meets every check that has fallen due.
        is_set = task.kind is Kind.OBSERVED and task.due_at <= picture.standing.now
        act = task.kind.value if is_set else task.words
        tasks[act] = _together(tasks[act], task) if act in tasks else task
    return list(tasks.values())


def _together(first: Task, later: Task) -> Task:
    """The same act twice: due when the first is, as urgent as either, in hand only if both are."""
    grave = min(first, later, key=lambda task: RANK[task.priority])
    return replace(
        first,
        state=grave.state,
        priority=grave.priority,
        clocks=first.clocks + later.clocks,
        owed=first.owed or later.owed,
        held_by=first.held_by if later.held_by else None,
    )


def _all(picture: Picture) -> Iterator[Task]:
    yield from _of_level(picture)
    yield from _baseline(picture)
    owed = _last_reminders(picture)
    for clock, state in picture.clocks:
        due_at = clock.due_at or clock.limit_at
        if state in OWED and due_at is not None and clock.name is not ClockName.LATE_WATCH:
            yield _of_clock(picture, clock, state, due_at, owed.get((clock.name, clock.n)))


def _of_clock(
    picture: Picture, clock: Clock, state: ClockState, due_at: datetime, owed: Reminder | None
) -> Task:
    given = acknowledgement_of(clock, picture.standing)
    is_soon = due_at - picture.standing.now <= picture.case.policy.reminders_notice
    ahead = state in (ClockState.PENDING, ClockState.OPEN)
    return Task(
        words=ACTION[clock.name],
        state=("soon" if is_soon else "later") if ahead else STATE[state],
        priority=OF_STATE.get(state, Alarm.LOW if is_soon else Alarm.NONE),
        due_at=due_at,
        limit_at=clock.limit_at,
        kind=FORM.get(clock.name, Kind.OBSERVED),
        step=STEP_OF_CLOCK.get(clock.name, NO_STEP),
        clocks=(clock,),
        owed=owed if given is None else None,
        held_by=None if given is None else given.staff_id,
    )


def _of_level(picture: Picture) -> Iterator[Task]:
    """A suspected reaction, and a unit that will not be in by its limit as things stand."""
    level, standing = picture.urgency.level, picture.standing
    if level not in (Level.REACTION, Level.AT_RISK):
        return
    task = Task(
        words=act_of(picture),
        state=LEVEL[level].lower(),
        priority=Alarm.HIGH,
        due_at=min(picture.urgency.since_at or standing.now, standing.now),
        limit_at=None,
        kind=Kind.REACTION_SUSPECTED,
        count="ago",
    )
    yield task if level is Level.REACTION else _at_risk(task, picture)


def _at_risk(task: Task, picture: Picture) -> Task:
    """Counted to the limit that it will miss; mended by the rate, or by starting at all."""
    clock = ClockName.RUNNING_CHECK if picture.episode.started_at else ClockName.START
    return replace(
        task,
        priority=Alarm.MEDIUM,
        limit_at=picture.standing.finish_limit_at,
        kind=FORM.get(clock, Kind.RATE_SET),
        step=STEP_OF_CLOCK[clock],
        shown_at=picture.standing.finish_limit_at,
        count="limit",
    )


def _baseline(picture: Picture) -> Iterator[Task]:
    """Before a start the baseline has no clock yet: it is asked for by when the start is due."""
    policy, now = picture.case.policy, picture.standing.now
    start = next((one for one, _ in picture.clocks if one.name is ClockName.START), None)
    if picture.episode.phase is not Phase.ISSUED or start is None or start.due_at is None:
        return
    if has_fresh_baseline(picture):
        return
    is_soon = start.due_at - now <= policy.reminders_notice
    yield Task(
        words=ACTION[ClockName.BASELINE_CHECK],
        state="due" if start.due_at <= now else "soon" if is_soon else "later",
        priority=Alarm.MEDIUM if start.due_at <= now else Alarm.LOW if is_soon else Alarm.NONE,
        due_at=start.due_at,
        limit_at=None,
        kind=Kind.OBSERVED,
        step=STEP_OF_CLOCK[ClockName.BASELINE_CHECK],
    )


def _last_reminders(picture: Picture) -> dict[tuple[ClockName, int], Reminder]:
    """The latest stage that is owed of each clock."""
    latest: dict[tuple[ClockName, int], Reminder] = {}
    for one in sorted(picture.reminders, key=lambda one: (one.owed_at, one.repeat)):
        latest[one.clock, one.n] = one
    return latest
