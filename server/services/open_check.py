"""Open an identity check of a unit; who opens it is the first checker."""

from datetime import datetime

from server.domain.identity_check import CheckState
from server.services.actor import Actor
from server.services.cases import load_case
from server.services.errors import Conflict
from server.services.identity_cases import form_of_case, require_checker, state_of
from server.store.identity_checks import IdentityCheck, add_check, close_check, newest_check
from server.store.sessions import WriteSession


def open_check(
    session: WriteSession, actor: Actor, episode_id: str, *, now: datetime
) -> IdentityCheck:
    """Open a check of a unit, by as many people as the policy asks for.

    Raises `NotFound`, `Forbidden`, `Refused` where the unit's phase allows no check, `Conflict`
    while another one runs. A check that was abandoned makes room and is kept as that.
    """
    case = load_case(session, episode_id, now=now)
    ward_id, policy = case.request.ward_id, case.policy
    staff_id = require_checker(actor, ward_id)
    form_of_case(case)
    before = newest_check(session, episode_id)
    if before is not None and before.state is CheckState.OPEN:
        if state_of(before, policy, now) is CheckState.OPEN:
            raise Conflict("a check of this unit is running; take part in it, or interrupt it")
        ended_at = before.changed_at + policy.identity_abandon
        close_check(session, before.id, CheckState.ABANDONED, at=ended_at, by=None)
    return add_check(
        session, episode_id, ward_id, checkers=policy.identity_checkers, by=staff_id, at=now
    )
