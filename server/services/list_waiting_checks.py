"""Identity checks that wait for a second person."""

from dataclasses import dataclass
from datetime import datetime

from server.domain.identity_check import CheckState
from server.services.actor import Actor
from server.services.identity_cases import state_of
from server.services.permissions import Act, may
from server.services.sound_cases import sound_cases
from server.store.identity_checks import open_checks
from server.store.sessions import ReadSession
from server.store.staff import staff_names


@dataclass(frozen=True, slots=True)
class WaitingCheck:
    """A check that somebody has begun and that nobody has come to yet."""

    episode_id: str
    bed: str
    first: str


def list_waiting_checks(
    session: ReadSession, actor: Actor, *, now: datetime
) -> tuple[WaitingCheck, ...]:
    """Answer the checks that the actor may come to as the second person, the oldest first."""
    waiting = [
        check
        for check in open_checks(session, actor.wards)
        if check.checkers > 1
        and check.second_by is None
        and check.opened_by != actor.staff_id
        and may(actor, Act.CHART, check.ward_id)
    ]
    cases = sound_cases(session, [check.episode_id for check in waiting], now=now).cases
    names = staff_names(session, [check.opened_by for check in waiting])
    return tuple(
        WaitingCheck(check.episode_id, case.request.bed, names[check.opened_by])
        for check in waiting
        if (case := cases.get(check.episode_id)) is not None
        and state_of(check, case.policy, now) is CheckState.OPEN
    )
