"""Take part in the identity check of a unit: open it, go on with it, or be the second person."""

from datetime import datetime

from server.services.actor import Actor
from server.services.identity_cases import is_running, require_open
from server.services.join_check import join_check
from server.services.open_check import open_check
from server.store.identity_checks import newest_check
from server.store.sessions import WriteSession


def take_part(
    session: WriteSession, actor: Actor, episode_id: str, check_id: str, *, now: datetime
) -> str:
    """Answer the check that the actor takes part in from now on.

    `check_id` is the one they were looking at, empty before there was any: then they go on with
    the one that runs, or open one. Raises `NotFound`, `Forbidden`, `Refused`, `Conflict`, also for
    a check that has ended since they looked.
    """
    present = check_id or _running(session, episode_id, now)
    if present is None:
        return open_check(session, actor, episode_id, now=now).id
    running = require_open(session, actor, episode_id, present, now=now)
    if running.staff_id not in running.check.people:
        join_check(session, running, now=now)
    return running.check.id


def _running(session: WriteSession, episode_id: str, now: datetime) -> str | None:
    check = newest_check(session, episode_id)
    return check.id if check is not None and is_running(session, check, now=now) else None
