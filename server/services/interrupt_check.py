"""Say that a running check was interrupted: it starts again from the top."""

from datetime import datetime

from server.domain.identity_check import CheckState
from server.services.actor import Actor
from server.services.enter_readings import Entered, end_check
from server.services.identity_cases import form_of_case, require_open
from server.store.sessions import WriteSession


def interrupt_check(
    session: WriteSession, actor: Actor, episode_id: str, check_id: str, *, now: datetime
) -> Entered:
    """End a check as interrupted; whoever may chart on the ward may say so, not the two alone.

    What was read stays readable, and counts for nothing. Raises `NotFound`, `Forbidden`,
    `Refused`, `Conflict` where the check has ended.
    """
    running = require_open(session, actor, episode_id, check_id, now=now)
    form = form_of_case(running.case)
    return end_check(session, actor, running.check, form, CheckState.INTERRUPTED, now=now)
