"""What calls a nurse: the reminder of a task, as it is announced and as a notification."""

from dataclasses import dataclass, replace
from hashlib import sha256
from typing import Final

from server.domain.alarm import WORDS, announced
from server.domain.request import Request
from server.domain.wording import CLOCK
from server.domain.words import Stage
from server.pages.counted import Moment
from server.pages.own_list.tasks import Task, tasks_of
from server.pages.page_head import iso
from server.services.list_mine import MyUnit
from server.store.reminders import RaisedReminder

TAG_LENGTH: Final = 24
ESCALATED: Final = frozenset({Stage.ESCALATE, Stage.SECOND_ESCALATE})


@dataclass(frozen=True, slots=True)
class CallView:
    """A reminder that calls. `key` names it, `tag` too, and tells nothing of the unit.

    `said` is announced, `title` and `body` make a notification: by bed, without a name.
    """

    key: str
    tag: str
    said: str
    title: str
    body: str


def own_tasks(unit: MyUnit) -> list[Task]:
    """Answer what a unit asks of the nurse; of one that calls, what its reminders are about."""
    tasks = tasks_of(unit.picture)
    if not unit.calls:
        return tasks
    called = [(task, call) for task in tasks if (call := _call_of(task, unit)) is not None]
    return [replace(task, owed=call, held_by=None) for task, call in called]


def _call_of(task: Task, unit: MyUnit) -> RaisedReminder | None:
    """The latest reminder that calls for a task."""
    clocks = {(clock.name, clock.n) for clock in task.clocks}
    calls = [call for call in unit.calls if (call.clock, call.n) in clocks]
    return max(calls, key=lambda call: call.raised_at, default=None)


def call_view(task: Task, request: Request, moment: Moment, *, escalated: bool) -> CallView:
    """Answer the reminder of a task that calls; `escalated`: to somebody who has not the unit."""
    assert task.owed is not None  # noqa: S101 - asked only of what reminds
    owed, words = task.owed, CLOCK[task.owed.clock]
    key = f"{request.id}:{owed.clock}:{owed.n}:{owed.stage}:{owed.repeat}:{iso(owed.owed_at)}"
    said = announced(task.priority, request.bed, words, task.state, moment.count)
    return CallView(
        key=key,
        tag=sha256(key.encode()).hexdigest()[:TAG_LENGTH],
        said=f"{said}, escalated to you" if escalated else said,
        title=f"{WORDS[task.priority]}: bed {request.bed}",
        body=f"{words} {task.state}, {moment.text}{', escalated to you' if escalated else ''}",
    )


def is_escalated(unit: MyUnit) -> bool:
    """Whether a unit of another calls because nobody answered there."""
    return any(call.stage in ESCALATED for call in unit.calls)
