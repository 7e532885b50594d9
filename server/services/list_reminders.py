"""The reminders raised on a ward."""

from collections.abc import Iterable
from datetime import datetime
from typing import Final

from server.domain.words import ClockName, Stage
from server.services.actor import Actor
from server.services.enter_ward import read_ward
from server.store.reminders import RaisedReminder, reminders_since
from server.store.sessions import ReadSession

Key = tuple[str, ClockName, int]
"""One clock: the unit's id, its name, its number."""

_RANK: Final = {stage: place for place, stage in enumerate(Stage)}


def list_reminders(
    session: ReadSession, actor: Actor, ward_id: str, *, since: datetime | None = None
) -> tuple[RaisedReminder, ...]:
    """Answer the reminders raised at or after `since`, in the order of raising.

    Raises `NotFound`, `Forbidden`.
    """
    read_ward(session, actor, ward_id)
    return reminders_since(session, ward_id, since)


def furthest_stages(raised: Iterable[RaisedReminder]) -> dict[Key, RaisedReminder]:
    """Answer the furthest stage that was raised of each clock; of one that moved, the latest."""
    furthest: dict[Key, RaisedReminder] = {}
    for one in raised:
        key = (one.episode_id, one.clock, one.n)
        before = furthest.get(key)
        if before is None or _place(one) >= _place(before):
            furthest[key] = one
    return furthest


def _place(reminder: RaisedReminder) -> tuple[int, int]:
    return (_RANK[reminder.stage], reminder.repeat)
