"""Which bags two episodes hold at once: nothing refuses a record of the past, so it is told."""

from dataclasses import dataclass
from datetime import datetime

from server.domain.issued_units import IssuedUnit, held_at_once
from server.services.actor import Actor
from server.services.enter_ward import read_ward
from server.services.passed_limits import Period
from server.store.accounts import bags_of_shared_numbers
from server.store.requests import read_requests
from server.store.sessions import ReadSession
from server.store.soundness import bags_beside_live
from server.store.wards import list_wards


@dataclass(frozen=True, slots=True)
class Holder:
    """An episode that holds a bag, and the ward it is on; `is_open`: the actor may look at it."""

    bag: IssuedUnit
    ward_name: str
    is_open: bool


def list_double_bags_on_boards(session: ReadSession, *, now: datetime) -> tuple[str, ...]:
    """Answer a sentence for every pair of which one is on a board; ids and numbers, no patient."""
    return tuple(_words(*pair) for pair in held_at_once(bags_beside_live(session, now)))


def double_bags_of_ward(
    session: ReadSession, actor: Actor, ward_id: str, period: Period
) -> tuple[tuple[Holder, Holder], ...]:
    """Answer the pairs of episodes that hold one bag at once, a unit of the period among them.

    The other may be on any ward: its ward is named, and no more than that. Raises `NotFound`,
    `Forbidden`.
    """
    read_ward(session, actor, ward_id)
    came = bags_of_shared_numbers(session, ward_id, period.from_at, period.until)
    pairs = held_at_once(came)
    held = read_requests(session, {one.episode_id for pair in pairs for one in pair})
    where = {episode_id: request.ward_id for episode_id, request in held.items()}
    names = {ward.id: ward.name for ward in list_wards(session, set(where.values()))}

    def holder(bag: IssuedUnit) -> Holder:
        ward = where[bag.episode_id]
        return Holder(bag, names[ward], actor.is_on(ward))

    here = [pair for pair in pairs if any(where[one.episode_id] == ward_id for one in pair)]
    return tuple((holder(one), holder(other)) for one, other in here)


def _words(one: IssuedUnit, other: IssuedUnit) -> str:
    where = " and ".join(f"{unit.episode_id} since {_at(unit)}" for unit in (one, other))
    return f"{one.number} is held twice at once, by {where}: ask the laboratory which is right"


def _at(unit: IssuedUnit) -> str:
    return f"{unit.issued_at:%Y-%m-%d %H:%M} UTC"
