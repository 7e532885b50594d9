"""What every step of an identity check needs: the unit, its form, and who may take part."""

from dataclasses import dataclass
from datetime import datetime
from typing import Final

from server.domain.episode import Episode
from server.domain.errors import Refused
from server.domain.fold import fold
from server.domain.identity_check import CheckState, Form, by_person, form_of, is_abandoned
from server.domain.identity_reading import Reading
from server.domain.phases import ALLOWED
from server.domain.picture import Case
from server.domain.policy import Policy
from server.domain.words import Kind
from server.services.actor import Actor
from server.services.cases import load_case
from server.services.errors import Conflict, Forbidden, NotFound
from server.services.permissions import Act, require
from server.store.identity_checks import IdentityCheck, StoredReading, read_check
from server.store.sessions import ReadSession

GONE: Final = "this check has ended; begin again from the top"


@dataclass(frozen=True, slots=True)
class Running:
    """A check that runs, the case of its unit, and the id of who is at it now."""

    check: IdentityCheck
    case: Case
    staff_id: str


def require_checker(actor: Actor, ward_id: str) -> str:
    """Answer who is checking. Raises `Forbidden` for a program, another role or another ward."""
    require(actor, Act.CHART, ward_id)
    if actor.staff_id is None:
        raise Forbidden("identity is checked by people, each for themselves")
    return actor.staff_id


def require_open(
    session: ReadSession, actor: Actor, episode_id: str, check_id: str, *, now: datetime
) -> Running:
    """Answer a check of a unit that still runs.

    Raises `NotFound`, `Forbidden`, `Conflict` for one that has ended or was abandoned.
    """
    check = read_check(session, check_id)
    if check is None or check.episode_id != episode_id:
        raise NotFound("the check")
    staff_id = require_checker(actor, check.ward_id)
    case = load_case(session, episode_id, now=now)
    if state_of(check, case.policy, now) is not CheckState.OPEN:
        raise Conflict(GONE)
    return Running(check, case, staff_id)


def is_running(session: ReadSession, check: IdentityCheck, *, now: datetime) -> bool:
    """Whether a check has neither ended nor been abandoned."""
    if check.state is not CheckState.OPEN:
        return False
    policy = load_case(session, check.episode_id, now=now).policy
    return state_of(check, policy, now) is CheckState.OPEN


def state_of(check: IdentityCheck, policy: Policy, now: datetime) -> CheckState:
    """How a check stands at an instant: one that nobody goes on with counts as abandoned."""
    idle = check.state is CheckState.OPEN
    if idle and is_abandoned(check.changed_at, policy.identity_abandon, now):
        return CheckState.ABANDONED
    return check.state


def form_of_case(case: Case) -> Form:
    """What the form of a unit says. Raises `Refused` in a phase that allows no check."""
    episode = fold(case.request, case.events)
    if episode.phase not in ALLOWED[Kind.IDENTITY_CHECKED]:
        raise Refused(
            f"the unit is {episode.phase}; identity is checked once it was issued",
            phase=episode.phase,
        )
    return form_of_unit(case, episode)


def form_of_unit(case: Case, episode: Episode) -> Form:
    """What the form of a unit says, in whatever phase it is."""
    return form_of(case.request, case.patient, episode, case.zone, case.policy.identity_band_prefix)


def sides_of(check: IdentityCheck, stored: tuple[StoredReading, ...]) -> dict[str, list[Reading]]:
    """Readings by person, the first checker first."""
    return by_person(check.people, [(one.staff_id, one.reading) for one in stored])
