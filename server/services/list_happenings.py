"""What happened on a ward in a stretch of time, for whoever looks for the instant to replay."""

from datetime import datetime, timedelta
from typing import Final

from server.domain.errors import Invalid
from server.services.actor import Actor
from server.services.enter_ward import read_ward
from server.store.happenings import Happening, happenings_between
from server.store.sessions import ReadSession

LONGEST: Final = timedelta(hours=26)
"""A day of a ward, also on which the clocks go back, and a little more."""


def list_happenings(
    session: ReadSession, actor: Actor, ward_id: str, from_at: datetime, until: datetime
) -> tuple[Happening, ...]:
    """Answer what happened or was recorded from an instant until just before another, by time.

    Raises `NotFound`, `Forbidden`, `Invalid` for more than a day at once.
    """
    read_ward(session, actor, ward_id)
    if until - from_at > LONGEST:
        raise Invalid("until", "is more than a day after the beginning; expected a day at most")
    found = happenings_between(session, ward_id, from_at, until)
    return tuple(sorted(found, key=lambda one: (one.happened_at, one.sort, one.episode_id)))
