"""A small ward of now to plan on: one nurse watches two beds, one patient waits for two units."""

from datetime import date, datetime, timedelta
from typing import Final

from server.domain.payloads import (
    CheckedItem,
    IdentityChecked,
    Inspected,
    Issued,
    Observed,
    Payload,
    Started,
)
from server.domain.words import Component, Priority, Role
from server.policies import load_policies
from server.services.actor import Actor
from server.services.enter_shift import ShiftDraft, enter_shift
from server.services.enter_staff import StaffDraft, enter_staff
from server.services.enter_ward import WardDraft, enter_ward
from server.services.open_episode import EpisodeDraft, open_episode
from server.services.open_order import OrderDraft, open_order
from server.services.record_event import Draft, record_event
from server.services.record_observation import record_observation
from server.services.register_patient import PatientDraft, register_patient
from server.store.sessions import WriteSession
from server.store.store import Store
from tests.browser.bedside import KIND, LAB

WARD: Final = "quay"
WARDS: Final = frozenset({WARD})
PASSWORD: Final = "a ward by the quay"
ADMIN: Final = Actor("set-up", "Set-up", Role.ADMINISTRATOR, None)
CHARGE: Final = Actor("carl", "Carl Oduya", Role.CHARGE_NURSE, WARDS, staff_id="carl")
NIA: Final = Actor("nia", "Nia Cole", Role.BEDSIDE_NURSE, WARDS, staff_id="nia")
OKE: Final = Actor("oke", "Oke Marsh", Role.BEDSIDE_NURSE, WARDS, staff_id="oke")
USUAL: Final = Observed(36.8, 78, 16, 124, 76)
CHECKED: Final = IdentityChecked(
    first_by="nia", second_by="oke", items=(CheckedItem("name", matched=True),)
)
MINUTE: Final = timedelta(minutes=1)


def fill(store: Store, now: datetime) -> None:
    """Nia started bed 4 and bed 7 two minutes ago; bed 9 has two units of red cells to come.

    Nia and Carl are on duty; Oke is not until somebody enters the shift.
    """
    with store.write() as session:
        enter_ward(session, ADMIN, WardDraft(WARD, "Quay Ward", "common", "Europe/London"),
                   load_policies(), now=now - 60 * MINUTE)  # fmt: skip
        for person in (CHARGE, NIA, OKE):
            draft = StaffDraft(person.id, person.name, person.role, WARDS, person.id, PASSWORD)
            enter_staff(session, ADMIN, draft, now=now - 60 * MINUTE)
        for staff_id in ("nia", "carl"):
            shift = ShiftDraft(staff_id, WARD, now - 60 * MINUTE, now + 600 * MINUTE)
            enter_shift(session, CHARGE, shift, now=now - 60 * MINUTE)
        for bed in ("4", "7"):
            _run(session, bed, now)
        waiting = OrderDraft(
            "order-9", _patient(session, "9", now), WARD, "9", Component.RED_CELLS, 2, 280,
            Priority.ROUTINE, duration_minutes=90, requested_at=now - 20 * MINUTE,
        )  # fmt: skip
        open_order(session, CHARGE, waiting, now=now)


def _run(session: WriteSession, bed: str, now: datetime) -> None:
    patient_id = _patient(session, bed, now)
    unit = EpisodeDraft(
        id=f"unit-{bed}", patient_id=patient_id, ward_id=WARD, bed=bed,
        component=Component.RED_CELLS, volume_ml=280, nurse_id="nia",
    )  # fmt: skip
    open_episode(session, LAB, unit, now=now - 40 * MINUTE)
    _record(session, unit.id or "", Issued(), now - 12 * MINUTE, LAB)
    record_observation(
        session, NIA, patient_id, USUAL, happened_at=now - 6 * MINUTE, now=now - 6 * MINUTE
    )
    for minutes, payload in ((5, Inspected()), (4, CHECKED), (2, Started(60))):
        _record(session, unit.id or "", payload, now - minutes * MINUTE, NIA)


def _record(
    session: WriteSession, episode_id: str, payload: Payload, at: datetime, actor: Actor
) -> None:
    record_event(session, actor, episode_id, Draft(KIND[type(payload)], at, payload), now=at)


def _patient(session: WriteSession, bed: str, now: datetime) -> str:
    draft = PatientDraft(
        id=f"patient-{bed}", record_number=f"Q00000{bed}", family_name=f"Quince{bed}",
        given_name="Ola", birth_date=date(1961, 5, 4), blood_group=None, weight_kg=68,
    )  # fmt: skip
    return register_patient(session, LAB, draft, now=now - 50 * MINUTE).id
