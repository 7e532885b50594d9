"""Say "I have it" of a clock that is owed: once, whoever says it first."""

from datetime import datetime

from server.domain.clock import OWED
from server.domain.payloads import Acknowledged
from server.domain.picture import picture
from server.domain.reminders import acknowledgement_of
from server.domain.words import ClockName, Kind
from server.services.actor import Actor
from server.services.cases import load_case
from server.services.errors import Forbidden
from server.services.permissions import Act, require
from server.services.record_event import Draft, record_event
from server.store.sessions import WriteSession


def acknowledge(
    session: WriteSession, actor: Actor, episode_id: str, clock: ClockName, *, now: datetime
) -> bool:
    """Record that the actor has the owed clock of that name; it never meets the clock.

    False, and nothing is stored, where somebody has it already or it is owed no more. Raises
    `NotFound`, `Forbidden`.
    """
    case = load_case(session, episode_id, now=now)
    require(actor, Act.CHART, case.request.ward_id)
    if actor.staff_id is None:
        raise Forbidden("only somebody of the staff has a task")
    standing = picture(case, now).standing
    open_still = [one for one, state in standing.clocks if one.name is clock and state in OWED]
    if all(acknowledgement_of(one, standing) is not None for one in open_still):
        return False
    draft = Draft(Kind.ACKNOWLEDGED, now, Acknowledged(clock, actor.staff_id))
    record_event(session, actor, episode_id, draft, now=now)
    return True
