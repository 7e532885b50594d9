"""What is still known of a unit whose facts cannot be read: how it was last worked out."""

from dataclasses import dataclass

from server.domain.request import Patient, Request
from server.services.actor import Actor
from server.services.permissions import Act, require
from server.store.clock_states import ClockRecord, read_clocks
from server.store.patients import read_patient
from server.store.sessions import ReadSession
from server.store.staff import staff_names
from server.store.states import EpisodeState, read_state


@dataclass(frozen=True, slots=True)
class UnreadableUnit:
    """A unit by its request and its derived rows; whatever was recorded since is not in them.

    `state` is None where it was never worked out, `patient` only where there is none at all.
    """

    request: Request
    patient: Patient | None
    state: EpisodeState | None
    clocks: tuple[ClockRecord, ...]
    nurse_name: str | None


def read_unreadable(session: ReadSession, actor: Actor, unit: Request) -> UnreadableUnit:
    """Answer what is known of a unit. Raises `Forbidden`."""
    require(actor, Act.READ, unit.ward_id)
    state = read_state(session, unit.id)
    nurse_id = (None if state is None else state.nurse_id) or ""
    return UnreadableUnit(
        request=unit,
        patient=read_patient(session, unit.patient_id),
        state=state,
        clocks=read_clocks(session, [unit.id]).get(unit.id, ()),
        nurse_name=staff_names(session, [nurse_id]).get(nurse_id),
    )
