"""Reminders: what is owed to be said about a clock, stage by stage, until it is met.

A reminder is owed once for each (clock, n, stage, repeat) and instant: it is stamped with when it
became owed, not with when somebody noticed. A correction that moves a clock has it owed anew.
"""

from collections.abc import Iterator
from datetime import datetime
from typing import Final, NamedTuple

from server.domain.clock import OWED, SECOND, Clock
from server.domain.episode import Acknowledgement
from server.domain.standing import Standing
from server.domain.words import ClockName, Stage

_SERVED_BY_ANY_SET: Final = frozenset(
    {ClockName.FIRST_CHECK, ClockName.RUNNING_CHECK, ClockName.END_CHECK}
)
_ROLLS: Final = frozenset({ClockName.RUNNING_CHECK, ClockName.REACTION_CHECK, ClockName.SET_CHANGE})


class Reminder(NamedTuple):
    """One stage of one clock. `owed_at` is its stamp, `reached_at` when it may be raised."""

    clock: ClockName
    n: int
    stage: Stage
    repeat: int
    owed_at: datetime
    reached_at: datetime


def reminders_owed(standing: Standing) -> tuple[Reminder, ...]:
    """Answer every reminder that has become owed by the instant, of clocks still owed."""
    return tuple(
        reminder
        for clock, state in standing.clocks
        if state in OWED and not _is_asked_already(clock, standing)
        for reminder in _stages(clock, standing)
        if reminder.reached_at <= standing.now
    )


def _is_asked_already(clock: Clock, standing: Standing) -> bool:
    """Whether the checks of a suspected reaction ask for the same set: one act, one reminder."""
    return clock.name in _SERVED_BY_ANY_SET and any(
        other.name is ClockName.REACTION_CHECK and state in OWED for other, state in standing.clocks
    )


def stage_instants(clock: Clock, standing: Standing) -> list[datetime]:
    """Answer when the later stages of a clock will be reached if nothing happens.

    Of the repeats only the next one is named: that is all a look ahead needs.
    """
    ahead = [reminder.reached_at for reminder in _stages(clock, standing)]
    if clock.limit_at is not None and clock.due_at is not None:
        policy = standing.policy
        passed = max(0, (standing.now - clock.limit_at) // policy.reminders_repeat)
        ahead.append(clock.limit_at + (passed + 1) * policy.reminders_repeat)
    return [at for at in ahead if at > standing.now]


def _stages(clock: Clock, standing: Standing) -> Iterator[Reminder]:
    """The stages of a clock; repeats as far as the instant."""
    if clock.name is ClockName.LATE_WATCH or clock.due_at is None:
        return
    notice = clock.due_at - standing.policy.reminders_notice
    if clock.opens_at is None or clock.due_at > clock.opens_at:
        yield Reminder(clock.name, clock.n, Stage.NOTICE, 0, notice, notice)
    yield Reminder(clock.name, clock.n, Stage.DUE, 0, clock.due_at, clock.due_at)
    if clock.limit_at is not None:
        # At the limit itself the clock can still be met: overdue is reached one second later.
        reached = clock.limit_at + SECOND
        yield Reminder(clock.name, clock.n, Stage.OVERDUE, 0, clock.limit_at, reached)
        yield from _after_limit(clock, clock.limit_at, standing)


def _after_limit(clock: Clock, limit: datetime, standing: Standing) -> Iterator[Reminder]:
    policy = standing.policy
    acknowledged = acknowledgement_of(clock, standing)
    silent_from = None if acknowledged is None else acknowledged.at
    escalate = limit + policy.reminders_escalate
    second = escalate + policy.reminders_second_escalate
    for stage, at in ((Stage.ESCALATE, escalate), (Stage.SECOND_ESCALATE, second)):
        if silent_from is None or at < silent_from:
            yield Reminder(clock.name, clock.n, stage, 0, at, at)
    until = min(standing.now, limit + policy.reminders_repeat_for)
    for repeat in range(1, (until - limit) // policy.reminders_repeat + 1):
        at = limit + repeat * policy.reminders_repeat
        if silent_from is not None and at >= silent_from:
            return
        yield Reminder(clock.name, clock.n, Stage.OVERDUE, repeat, at, at)


def acknowledgement_of(clock: Clock, standing: Standing) -> Acknowledgement | None:
    """Answer the first "I have it" of this very clock; a check that rolls on needs a new one."""
    begins = clock.opens_at
    if clock.name is ClockName.RUNNING_CHECK and clock.due_at is not None:
        begins = clock.due_at - standing.policy.running_every
    if clock.name is ClockName.REACTION_CHECK and clock.due_at is not None:
        begins = clock.due_at - standing.policy.reaction_every
    for given in standing.episode.acknowledgements:
        if given.clock is not clock.name:
            continue
        if clock.name not in _ROLLS or begins is None or given.at >= begins:
            return given
    return None
