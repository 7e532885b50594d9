"""Keep a past that comes in whole: shifts, changes of wards, patients, orders, facts of units.

Nothing is worked out here, and nothing of it is asked again: `work_out_past` folds it afterwards,
when every fact of a patient is there, and refuses what could not be.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from server.domain.request import Patient, Request
from server.domain.ward_change import WardChange
from server.services.actor import Actor
from server.services.errors import Forbidden
from server.services.permissions import Act, require
from server.store.log import Logged, append_logged
from server.store.orders import Order, add_orders
from server.store.patients import save_patient
from server.store.requests import add_requests
from server.store.sessions import WriteSession
from server.store.shifts import Shift, add_shifts
from server.store.ward_changes import add_ward_change


@dataclass(frozen=True, slots=True)
class NewPatient:
    """A patient, and when somebody recorded them first."""

    patient: Patient
    recorded_at: datetime


@dataclass(frozen=True, slots=True)
class Past:
    """A piece of the past of wards. `facts` stand in the order in which they were recorded.

    Their positions are given anew: they follow whatever is in the log already.
    """

    shifts: Sequence[Shift] = ()
    changes: Sequence[WardChange] = ()
    patients: Sequence[NewPatient] = ()
    orders: Sequence[Order] = ()
    requests: Sequence[Request] = ()
    facts: Sequence[Logged] = ()


def keep_past(session: WriteSession, actor: Actor, past: Past) -> int:
    """Store a piece of the past; how many facts it held.

    Raises `Forbidden` unless it is a program that may chart everywhere, and `Clash` for an id that
    is taken.
    """
    require_whole(actor)
    add_shifts(session, past.shifts)
    for change in past.changes:
        add_ward_change(session, change)
    for new in past.patients:
        save_patient(session, new.patient, recorded_at=new.recorded_at, recorded_by=actor.id)
    add_orders(session, past.orders)
    add_requests(session, past.requests)
    append_logged(session, past.facts)
    return len(past.facts)


def require_whole(actor: Actor) -> None:
    """Raise `Forbidden` unless this is a program that may write for every ward."""
    require(actor, Act.ORDER)
    require(actor, Act.CHART)
    if actor.wards is not None or actor.staff_id is not None:
        raise Forbidden("a past comes in from a program for all wards, not from a person")
