"""Reminders, as answered and as streamed."""

from datetime import datetime

from server.api.fields import Given
from server.api.instants import Moment
from server.domain.words import ClockName, Stage
from server.store.reminders import RaisedReminder


class ReminderAnswer(Given):
    """A stage of a clock that somebody is told about; `owed_at` is when it was reached."""

    id: str
    episode_id: str
    clock: ClockName
    n: int
    stage: Stage
    repeat: int
    owed_at: Moment
    raised_at: Moment
    to: str
    acknowledged_at: Moment | None
    acknowledged_by: str | None


def reminder_answer(reminder: RaisedReminder, at: datetime | None = None) -> ReminderAnswer:
    """A reminder as it was at an instant; what was acknowledged later was open then."""
    acknowledged_at = reminder.acknowledged_at
    is_open = acknowledged_at is None or (at is not None and acknowledged_at > at)
    return ReminderAnswer(
        id=reminder.id,
        episode_id=reminder.episode_id,
        clock=reminder.clock,
        n=reminder.n,
        stage=reminder.stage,
        repeat=reminder.repeat,
        owed_at=reminder.owed_at,
        raised_at=reminder.raised_at,
        to=reminder.to,
        acknowledged_at=None if is_open else acknowledged_at,
        acknowledged_by=None if is_open else reminder.acknowledged_by,
    )
