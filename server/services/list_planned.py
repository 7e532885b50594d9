"""What the accepted plans ask of one nurse: the units that wait, which they start or check."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from server.domain.plan.proposal import Start
from server.domain.request import Request
from server.domain.words import Phase
from server.services.actor import Actor
from server.services.permissions import Act, require
from server.store.plans import plan_in_force
from server.store.requests import read_requests
from server.store.sessions import ReadSession
from server.store.states import read_states

_CALLED: Final = frozenset({Phase.REQUESTED, Phase.AVAILABLE})
_WAITING: Final = _CALLED | {Phase.ISSUED}


@dataclass(frozen=True, slots=True)
class Coming:
    """One planned start at which the nurse is needed: to call for it, to start it, to check it.

    `at` is when; `is_call`: the unit is to be called for then; `is_first`: the nurse starts it.
    """

    request: Request
    start: Start
    at: datetime
    is_call: bool
    is_first: bool


def list_planned(
    session: ReadSession, actor: Actor, nurse_id: str, ward_ids: Iterable[str], *, now: datetime
) -> tuple[Coming, ...]:
    """Answer the planned starts of a nurse on these wards that are still to come, by time.

    Raises `Forbidden`.
    """
    starts: dict[str, Start] = {}
    for ward_id in sorted(ward_ids):
        require(actor, Act.READ, ward_id)
        plan = plan_in_force(session, ward_id, now)
        listed = () if plan is None else plan.proposal.starts
        starts |= {one.episode_id: one for one in listed if nurse_id in _people(one)}
    phases = {one: state.phase for one, state in read_states(session, starts).items()}
    waiting = [one for one, phase in phases.items() if phase in _WAITING]
    requests = read_requests(session, waiting)
    coming = (_coming(requests[one], starts[one], phases[one], nurse_id) for one in waiting)
    return tuple(sorted(coming, key=lambda one: (one.at, one.request.id)))


def _people(start: Start) -> tuple[str | None, str | None]:
    return (start.nurse_id, start.second_id)


def _coming(request: Request, start: Start, phase: Phase, nurse_id: str) -> Coming:
    is_first = start.nurse_id == nurse_id
    call_at = start.call_at if is_first and phase in _CALLED else None
    at = start.check_at if call_at is None else call_at
    return Coming(request, start, at, call_at is not None, is_first)
