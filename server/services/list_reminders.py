"""The reminders raised on a ward."""

from datetime import datetime

from server.services.actor import Actor
from server.services.enter_ward import read_ward
from server.store.reminders import RaisedReminder, reminders_since
from server.store.sessions import ReadSession


def list_reminders(
    session: ReadSession, actor: Actor, ward_id: str, *, since: datetime | None = None
) -> tuple[RaisedReminder, ...]:
    """Answer the reminders raised at or after `since`, in the order of raising.

    Raises `NotFound`, `Forbidden`.
    """
    read_ward(session, actor, ward_id)
    return reminders_since(session, ward_id, since)
