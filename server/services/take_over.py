"""Take units over from a colleague: one, or all of the patient."""

from datetime import datetime

from server.services.actor import Actor
from server.services.changing_hands import Changed, Wanted, assign, unit_meant, units_meant
from server.services.errors import Forbidden
from server.store.sessions import WriteSession


def take_over(session: WriteSession, actor: Actor, wanted: Wanted, *, now: datetime) -> Changed:
    """Give units to the actor, at once; answers which changed hands, and which could not.

    Any nurse of the ward takes over any unit of it, whoever has it. Raises `NotFound`,
    `Forbidden`, `Conflict` where somebody else has the unit meanwhile, `Unreadable` where there is
    nothing else to take over.
    """
    request = unit_meant(session, actor, wanted)
    if actor.staff_id is None:
        raise Forbidden("a program takes no unit over; somebody of the staff does")
    units = units_meant(session, request, wanted)
    return assign(session, actor, units, actor.staff_id, now=now)
