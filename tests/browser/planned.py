"""Wards to plan on: a small one, on which two starts fall on one nurse, and a crowded one."""

from datetime import date, datetime, timedelta
from typing import Final

from server.domain.payloads import Issued
from server.domain.words import Component, Kind, Priority, Role
from server.policies import load_policies
from server.services.actor import Actor
from server.services.enter_shift import ShiftDraft, enter_shift
from server.services.enter_staff import StaffDraft, enter_staff
from server.services.enter_ward import WardDraft, enter_ward
from server.services.open_episode import EpisodeDraft, open_episode
from server.services.open_order import OrderDraft, open_order
from server.services.record_event import Draft, record_event
from server.services.register_patient import PatientDraft, register_patient
from server.store.sessions import WriteSession
from server.store.shifts import Break
from server.store.store import Store
from tests.browser.bedside import LAB

WARD: Final = "quay"
WARDS: Final = frozenset({WARD})
PASSWORD: Final = "a ward by the quay"
ADMIN: Final = Actor("set-up", "Set-up", Role.ADMINISTRATOR, None)
CHARGE: Final = Actor("carl", "Carl Oduya", Role.CHARGE_NURSE, WARDS, staff_id="carl")
NIA: Final = Actor("nia", "Nia Cole", Role.BEDSIDE_NURSE, WARDS, staff_id="nia")
OKE: Final = Actor("oke", "Oke Marsh", Role.BEDSIDE_NURSE, WARDS, staff_id="oke")
ANA: Final = Actor("ana", "Ana Reed", Role.BEDSIDE_NURSE, WARDS, staff_id="ana")
MANY: Final = (
    "Aleksandra Wojciechowska-Przybylska",
    "Bartholomew Featherstonehaugh",
    "Chimamanda Okonkwo-Adeyemi",
    "Eilidh MacGillivray-Strathclyde",
    "Gwenllian Llewelyn-Prydderch",
)
MINUTE: Final = timedelta(minutes=1)
DAY: Final = timedelta(days=1)


def fill(store: Store, now: datetime) -> None:
    """Units for beds 4 and 7, both Nia's, left storage five minutes ago; bed 9 waits for two.

    They are there in five minutes more, take a quarter of an hour to check and have to run within
    half an hour of leaving: whoever has both begins to watch both twenty minutes from now. Nia,
    Ana and Carl are on duty; Oke, who was yesterday, is not until somebody enters the shift.
    """
    with store.write() as session:
        enter_ward(session, ADMIN, WardDraft(WARD, "Quay Ward", "common", "Europe/London"),
                   load_policies(), now=now - 60 * MINUTE)  # fmt: skip
        for person in (CHARGE, NIA, ANA, OKE):
            draft = StaffDraft(person.id, person.name, person.role, WARDS, person.id, PASSWORD)
            enter_staff(session, ADMIN, draft, now=now - 60 * MINUTE)
        for staff_id in ("nia", "ana", "carl"):
            _on_duty(session, staff_id, now - 60 * MINUTE, now)
        _on_duty(session, "oke", now - DAY, now)
        for bed in ("4", "7"):
            _send(session, bed, now)
        _order(session, "9", now)


def crowd(store: Store, now: datetime) -> None:
    """The same ward with forty units that wait, and people with long names who have breaks."""
    fill(store, now)
    with store.write() as session:
        for place, name in enumerate(MANY):
            draft = StaffDraft(f"n{place}", name, Role.BEDSIDE_NURSE, WARDS, f"n{place}", PASSWORD)
            enter_staff(session, ADMIN, draft, now=now)
            pause = now + (60 + 30 * place) * MINUTE
            _on_duty(session, f"n{place}", now, now, Break(pause, pause + 30 * MINUTE))
        for bed in range(20, 39):
            _order(session, f"{bed}", now)


def _on_duty(
    session: WriteSession, staff_id: str, begins: datetime, now: datetime, *breaks: Break
) -> None:
    shift = ShiftDraft(staff_id, WARD, begins, begins + 600 * MINUTE, breaks)
    enter_shift(session, CHARGE, shift, now=now)


def _order(session: WriteSession, bed: str, now: datetime) -> None:
    """Two units of red cells, one after the other."""
    order = OrderDraft(
        f"order-{bed}", _patient(session, bed, now), WARD, bed, Component.RED_CELLS, 2, 280,
        Priority.ROUTINE, duration_minutes=90, requested_at=now - 20 * MINUTE,
    )  # fmt: skip
    open_order(session, CHARGE, order, now=now)


def _send(session: WriteSession, bed: str, now: datetime) -> None:
    """A unit on its way to one of Nia's beds."""
    unit = EpisodeDraft(
        id=f"unit-{bed}", patient_id=_patient(session, bed, now), ward_id=WARD, bed=bed,
        component=Component.RED_CELLS, volume_ml=280, nurse_id="nia",
    )  # fmt: skip
    open_episode(session, LAB, unit, now=now - 40 * MINUTE)
    left_at = now - 5 * MINUTE
    draft = Draft(Kind.ISSUED, left_at, Issued())
    record_event(session, LAB, unit.id or "", draft, now=left_at)


def _patient(session: WriteSession, bed: str, now: datetime) -> str:
    draft = PatientDraft(
        id=f"patient-{bed}", record_number=f"Q00000{bed}", family_name=f"Quince{bed}",
        given_name="Ola", birth_date=date(1961, 5, 4), blood_group=None, weight_kg=68,
    )  # fmt: skip
    return register_patient(session, LAB, draft, now=now - 50 * MINUTE).id
