"""Two wards, the people on them and their patients, as an administrator and a program enter them.

Ward `w1` has the nurse, the colleague and the charge nurse; the outsider works on `w2` and may
see nothing of `w1`. Both wards have a patient, so that there is always something to leak.
"""

from dataclasses import replace
from datetime import date
from typing import Final

from server.domain.request import Patient
from server.domain.words import Role
from server.services.actor import Actor
from server.services.enter_staff import StaffDraft, enter_staff
from server.services.enter_ward import WardDraft, enter_ward
from server.services.register_patient import PatientDraft, register_patient
from server.store.sessions import WriteSession
from server.store.staff import Staff
from server.store.store import Store
from tests.domain.builders import PATIENT, POLICIES, at

W1: Final = frozenset({"w1"})
W2: Final = frozenset({"w2"})

ADMINISTRATOR: Final = Actor("admin", "Ada Admin", Role.ADMINISTRATOR, None, staff_id="admin")
PROGRAM: Final = Actor("program", "Blood bank", Role.INTERFACE, None)
NURSE: Final = Actor("nurse-1", "Nina Nurse", Role.BEDSIDE_NURSE, W1, staff_id="nurse-1")
COLLEAGUE: Final = Actor("nurse-2", "Cleo Colleague", Role.BEDSIDE_NURSE, W1, staff_id="nurse-2")
CHARGE: Final = Actor("charge-1", "Carl Charge", Role.CHARGE_NURSE, W1, staff_id="charge-1")
MANAGER: Final = Actor("manager-1", "Mona Manager", Role.MANAGER, W1, staff_id="manager-1")
OUTSIDER: Final = Actor("nurse-9", "Otto Outsider", Role.BEDSIDE_NURSE, W2, staff_id="nurse-9")
OUTSIDE_CHARGE: Final = Actor("charge-9", "Olga Other", Role.CHARGE_NURSE, W2, staff_id="charge-9")
EVERYBODY: Final = (
    ADMINISTRATOR,
    NURSE,
    COLLEAGUE,
    CHARGE,
    MANAGER,
    OUTSIDER,
    OUTSIDE_CHARGE,
)

P1: Final = replace(PATIENT, id="p1", record_number="T000001")
P2: Final = replace(P1, id="p2", record_number="T000002", family_name="Birch", given_name="Bo")
P9: Final = replace(P1, id="p9", record_number="T000009", family_name="Elm", given_name="Eva")
CHILD: Final = replace(P2, birth_date=date(2020, 1, 1), weight_kg=15)
WARD_1: Final = WardDraft("w1", "Ward 1", "common", "Europe/London", next_contact="site manager")
WARD_2: Final = WardDraft("w2", "Ward 2", "common", "Pacific/Auckland")


def enter_everybody(store: Store) -> None:
    """Enter both wards, all staff and the patients, ten hours before the base instant."""
    with store.write() as session:
        for ward in (WARD_1, WARD_2):
            enter_ward(session, ADMINISTRATOR, ward, POLICIES, now=at(-600))
        for person in EVERYBODY:
            enter_staff(session, ADMINISTRATOR, staff_draft(person), now=at(-600))
        for patient in (P1, P2, P9):
            register(session, patient)


def staff_draft(person: Actor) -> StaffDraft:
    """How somebody is entered."""
    return StaffDraft(person.id, person.name, person.role, person.wards)


def staff_of(person: Actor) -> Staff:
    """Somebody as staff."""
    return Staff(person.id, person.name, person.role, person.wards)


def register(session: WriteSession, patient: Patient, *, minute: float = -600) -> Patient:
    """Register a patient as the program does."""
    return register_patient(session, PROGRAM, patient_draft(patient), now=at(minute))


def patient_draft(patient: Patient) -> PatientDraft:
    """How a patient is entered."""
    return PatientDraft(
        id=patient.id,
        record_number=patient.record_number,
        family_name=patient.family_name,
        given_name=patient.given_name,
        birth_date=patient.birth_date,
        blood_group=patient.blood_group,
        weight_kg=patient.weight_kg,
        pregnant=patient.pregnant,
        overload_risks=patient.overload_risks,
        spo2_scale=patient.spo2_scale,
    )
