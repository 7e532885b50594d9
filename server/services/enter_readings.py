"""Enter what a checker read; the check ends by itself when it comes to something."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from server.domain.identity_check import CheckState, Form, checked, verdict
from server.domain.identity_reading import Reading
from server.domain.words import Kind
from server.services.actor import Actor
from server.services.errors import Conflict
from server.services.identity_cases import form_of_case, require_open, sides_of
from server.services.record_event import Draft, record_event
from server.store.identity_checks import (
    IdentityCheck,
    add_readings,
    close_check,
    readings_of,
)
from server.store.sessions import WriteSession


@dataclass(frozen=True, slots=True)
class Entered:
    """How the check stands now; `event_id` is the fact it came to, None while it runs."""

    state: CheckState
    event_id: str | None = None


def enter_readings(
    session: WriteSession,
    actor: Actor,
    episode_id: str,
    check_id: str,
    readings: Sequence[Reading],
    *,
    now: datetime,
) -> Entered:
    """Keep what one of the checkers read; nothing that was read is ever changed.

    What does not agree with the form stops the check at once. When everybody has read everything
    it ends, matched or not, in one `identity_checked` fact. Raises `NotFound`, `Forbidden`,
    `Refused`, `Conflict` for somebody who takes no part or where the check has ended.
    """
    running = require_open(session, actor, episode_id, check_id, now=now)
    check = running.check
    if running.staff_id not in check.people:
        raise Conflict("other people are checking this unit")
    form = form_of_case(running.case)
    add_readings(session, check_id, running.staff_id, readings, now)
    sides = sides_of(check, readings_of(session, check_id))
    state = verdict(form, list(sides.values()), check.checkers)
    if state is CheckState.OPEN:
        return Entered(state)
    return end_check(session, actor, check, form, state, now=now)


def end_check(
    session: WriteSession,
    actor: Actor,
    check: IdentityCheck,
    form: Form,
    state: CheckState,
    *,
    now: datetime,
) -> Entered:
    """Close a check and record what it came to; a check without a single reading is no fact."""
    sides = sides_of(check, readings_of(session, check.id))
    payload = checked(form, sides, interrupted=state is CheckState.INTERRUPTED)
    event_id = None
    if payload is not None:
        draft = Draft(Kind.IDENTITY_CHECKED, now, payload)
        event_id = record_event(session, actor, check.episode_id, draft, now=now).event_id
    close_check(session, check.id, state, at=now, by=actor.id, event_id=event_id)
    return Entered(state, event_id)
