"""Hand units over to a colleague: one, or all of the patient."""

from datetime import datetime

from server.services.actor import Actor
from server.services.changing_hands import Changed, Holders, Wanted, assign, unit_meant, units_meant
from server.services.errors import Forbidden
from server.services.nurses import nurse_of_ward
from server.services.permissions import Act, may
from server.store.sessions import WriteSession


def hand_over(
    session: WriteSession, actor: Actor, wanted: Wanted, to: str, *, now: datetime
) -> Changed:
    """Give units to the nurse `to`, at once; answers which changed hands, and which could not.

    A bedside nurse hands over their own units; with the whole patient go the units of the
    patient that nobody has. Whoever is in charge hands over any. Raises `NotFound`,
    `Forbidden`, `Invalid` beside `to`, `Conflict` where somebody else has the unit meanwhile,
    `Unreadable` where there is nothing else to hand over.
    """
    request = unit_meant(session, actor, wanted)
    nurse_of_ward(session, "to", to, request.ward_id)
    units = units_meant(session, request, wanted)
    if not may(actor, Act.OVERSEE, request.ward_id):
        if actor.staff_id is None or units[request.id] != actor.staff_id:
            raise Forbidden("only the nurse who has a unit, or the charge nurse, hands it over")
        units = _own(units, actor.staff_id)
    return assign(session, actor, units, to, now=now)


def _own(units: Holders, staff_id: str) -> Holders:
    return {unit: nurse for unit, nurse in units.items() if nurse in (None, staff_id)}
