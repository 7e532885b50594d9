"""Units that change hands: which are meant, that nobody else was faster, and the facts of it."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from server.domain.payloads import Assigned
from server.domain.request import Request
from server.domain.words import Kind
from server.services.actor import Actor
from server.services.errors import Conflict, NotFound
from server.services.permissions import Act, require
from server.services.record_event import Draft, record_event
from server.store.nurse_units import units_of_patient
from server.store.requests import read_request
from server.store.sessions import ReadSession, WriteSession
from server.store.staff import staff_names
from server.store.states import read_state

Holders = Mapping[str, str | None]
"""Units by id, each with the nurse who has it, None: nobody."""


@dataclass(frozen=True, slots=True)
class Wanted:
    """Which units change hands: the one, or with `whole_patient` all of its patient on the ward.

    `held_by` is the nurse who had the unit as far as the one who asks could see, None: nobody.
    """

    episode_id: str
    whole_patient: bool = False
    held_by: str | None = None


def unit_meant(session: ReadSession, actor: Actor, wanted: Wanted) -> Request:
    """Answer the unit that was named. Raises `NotFound`, `Forbidden`."""
    request = read_request(session, wanted.episode_id)
    if request is None:
        raise NotFound("the episode")
    require(actor, Act.HAND_OVER, request.ward_id)
    return request


def units_meant(session: WriteSession, request: Request, wanted: Wanted) -> Holders:
    """Answer the units that are meant. Nobody else changes the ward from here on.

    Raises `Conflict` where somebody else has the unit meanwhile.
    """
    session.touch(request.ward_id)
    state = read_state(session, request.id)
    holder = None if state is None else state.nurse_id
    if holder != wanted.held_by:
        raise Conflict(f"{_who(session, holder)} has this unit meanwhile; look at it again")
    units = {request.id: holder}
    if wanted.whole_patient:
        units |= dict(units_of_patient(session, request.ward_id, request.patient_id))
    return units


def assign(
    session: WriteSession, actor: Actor, units: Holders, to: str, *, now: datetime
) -> tuple[str, ...]:
    """Record that `to` has these units; answers those that changed hands, in order of their ids."""
    changing = tuple(sorted(unit for unit, nurse in units.items() if nurse != to))
    for unit in changing:
        record_event(session, actor, unit, Draft(Kind.ASSIGNED, now, Assigned(to)), now=now)
    return changing


def _who(session: ReadSession, nurse_id: str | None) -> str:
    return (
        "nobody" if nurse_id is None else staff_names(session, [nurse_id]).get(nurse_id, nurse_id)
    )
