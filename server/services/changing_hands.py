"""Units that change hands: which are meant, that nobody else was faster, and the facts of it.

A unit that cannot be read keeps none of the others back: at the end of a shift they change hands,
and it is told that it did not.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime

from server.domain.payloads import Assigned
from server.domain.request import Request
from server.domain.words import Kind
from server.services.actor import Actor
from server.services.errors import Conflict, NotFound
from server.services.permissions import Act, require
from server.services.record_event import Draft, record_event
from server.services.sound_cases import sound_pictures
from server.store.nurse_units import units_of_patient
from server.store.requests import read_request, read_requests
from server.store.sessions import ReadSession, WriteSession
from server.store.staff import staff_names
from server.store.states import read_state, read_states

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


@dataclass(frozen=True, slots=True)
class Changed:
    """The ids of units that changed hands, and of those that did not: they cannot be read."""

    units: tuple[str, ...]
    left: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class LeftBehind:
    """A unit that did not change hands, and the nurse who has it as far as was last known."""

    unit: Request
    nurse_name: str | None


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
) -> Changed:
    """Record that `to` has these units; answers what became of them, in order of their ids.

    Raises `Unreadable` where all that could have changed hands cannot be read.
    """
    changing = sorted(unit for unit, nurse in units.items() if nurse != to)
    readable = sound_pictures(session, changing, now=now)
    left = tuple(unit for unit in changing if unit not in readable)
    # With nothing else to hand over, what keeps a unit is the answer.
    changed = [unit for unit in changing if unit in readable] or changing
    for unit in changed:
        record_event(session, actor, unit, Draft(Kind.ASSIGNED, now, Assigned(to)), now=now)
    return Changed(tuple(changed), left)


def left_behind(
    session: ReadSession, actor: Actor, episode_ids: Iterable[str], *, now: datetime
) -> tuple[LeftBehind, ...]:
    """Answer which of these units of the actor's wards still cannot be read."""
    asked = read_requests(session, episode_ids)
    readable = sound_pictures(session, asked, now=now)
    lost = [one for one in asked.values() if one.id not in readable and actor.is_on(one.ward_id)]
    states = read_states(session, [one.id for one in lost])
    holders = {one: state.nurse_id for one, state in states.items() if state.nurse_id is not None}
    names = staff_names(session, set(holders.values()))
    return tuple(LeftBehind(one, names.get(holders.get(one.id, ""))) for one in lost)


def _who(session: ReadSession, nurse_id: str | None) -> str:
    return (
        "nobody" if nurse_id is None else staff_names(session, [nurse_id]).get(nurse_id, nurse_id)
    )
