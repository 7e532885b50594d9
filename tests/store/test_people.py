"""Patients and staff: as last recorded, as once known, and by what is typed."""

import pytest

from server.domain.request import Patient
from server.domain.words import BloodGroup, Role
from server.store.errors import Clash
from server.store.patients import (
    find_patients,
    patients_of_record_number,
    read_patient,
    read_patients,
    save_patient,
)
from server.store.staff import (
    Staff,
    list_staff,
    read_staff,
    save_staff,
    set_password_hash,
    staff_named,
    staff_names,
)
from server.store.store import Store
from server.store.tokens import Token, add_token
from server.store.wards import Ward, add_ward
from tests.domain.builders import at
from tests.store.facts import a_patient, counted_queries

IDA = a_patient("ida", family_name="Ålund", given_name="Ida Marie", blood_group=BloodGroup.O_NEG)
OLE = a_patient("ole", family_name="Alder", given_name="Ole", weight_kg=3.2, spo2_scale=2)
NURSE = Staff("n1", "Nia", Role.BEDSIDE_NURSE, frozenset({"w1"}), sign_in_name="nia")
CHARGE = Staff("n2", "Cas", Role.CHARGE_NURSE, frozenset({"w1", "w2"}))
BOSS = Staff("n3", "Bo", Role.ADMINISTRATOR, None, active=False)
OTHER = Staff("n4", "Dee", Role.BEDSIDE_NURSE, frozenset({"w2"}), sign_in_name="dee")


@pytest.fixture
def patients(store: Store) -> None:
    """Ida and Ole are in."""
    for patient in (IDA, OLE):
        _save(store, patient, 0)


@pytest.fixture
def staff(store: Store, ward: Ward) -> None:
    """Nia on the ward, Cas on two, Bo on all, Dee on the other one."""
    with store.write() as session:
        add_ward(session, Ward("w2", "Ward 5", ward.timezone, at(0)))
        for member in (NURSE, CHARGE, BOSS, OTHER):
            save_staff(session, member)


@pytest.mark.usefixtures("patients")
def test_patients_come_back_as_they_were_saved(store: Store) -> None:
    with store.read() as session:
        assert read_patients(session, ["ida", "ole", "nobody"]) == {"ida": IDA, "ole": OLE}
        assert read_patient(session, "nobody") is None


@pytest.mark.parametrize(("minute", "known"), [(-1, 60), (9, 60), (10, 55), (19, 55), (20, 50)])
def test_a_patient_is_answered_as_known_at_an_instant(
    store: Store, minute: int, known: float
) -> None:
    for recorded, weight in ((0, 60), (10, 55), (20, 50)):
        _save(store, a_patient("ida", weight_kg=weight), recorded)

    with store.read() as session:
        then = read_patients(session, ["ida"], known_at=at(minute))
        now = read_patient(session, "ida")

    assert then == {"ida": a_patient("ida", weight_kg=known)}
    assert now == a_patient("ida", weight_kg=50)


@pytest.mark.usefixtures("patients")
@pytest.mark.parametrize(
    ("typed", "found"),
    [
        ("ÅLUND", [IDA]),
        ("al o", [OLE]),
        ("ida t-", [IDA]),
        ("t-ole", [OLE]),
        ("", [OLE, IDA]),
        ("%", []),
        ("_", []),
        ("ida ole", []),
    ],
)
def test_patients_are_found_by_every_word_that_is_typed(
    store: Store, typed: str, found: list[Patient]
) -> None:
    with store.read() as session:
        assert find_patients(session, typed) == tuple(found)


@pytest.mark.usefixtures("patients")
def test_as_many_patients_are_found_as_are_wanted(store: Store) -> None:
    with store.read() as session:
        assert find_patients(session, "", limit=1) == (OLE,)


@pytest.mark.usefixtures("patients")
def test_two_patients_of_one_record_number_are_both_found(store: Store) -> None:
    double = a_patient("double")
    doubled = Patient("zz", double.record_number, "B", "C", double.birth_date)
    _save(store, double, 0)
    _save(store, doubled, 1)

    with store.read() as session:
        assert patients_of_record_number(session, double.record_number) == (double, doubled)
        assert patients_of_record_number(session, "T-nobody") == ()


@pytest.mark.usefixtures("staff")
def test_staff_come_back_as_they_were_saved(store: Store) -> None:
    with store.read() as session:
        assert [read_staff(session, f"n{n}") for n in range(1, 6)] == [
            NURSE,
            CHARGE,
            BOSS,
            OTHER,
            None,
        ]


@pytest.mark.usefixtures("staff")
@pytest.mark.parametrize(
    ("wards", "found"),
    [
        (None, [BOSS, CHARGE, OTHER, NURSE]),
        (["w1"], [BOSS, CHARGE, NURSE]),
        (["w2"], [BOSS, CHARGE, OTHER]),
        ([], [BOSS]),
    ],
)
def test_staff_are_listed_by_ward(
    store: Store, wards: list[str] | None, found: list[Staff]
) -> None:
    with store.read() as session, counted_queries(store) as sent:
        assert list_staff(session, wards) == tuple(found)
    assert len(sent) == 2


@pytest.mark.usefixtures("staff")
def test_a_change_of_staff_keeps_the_password_and_replaces_the_wards(store: Store) -> None:
    changed = Staff("n1", "Nia Roe", Role.CHARGE_NURSE, frozenset({"w2"}), "nia")
    with store.write() as session:
        set_password_hash(session, "n1", "hash")
        save_staff(session, changed)

    with store.read() as session:
        assert staff_named(session, "nia") == (changed, "hash")
        assert staff_named(session, "dee") == (OTHER, None)
        assert staff_named(session, "nobody") is None


@pytest.mark.usefixtures("staff")
def test_a_sign_in_name_belongs_to_one(store: Store) -> None:
    with pytest.raises(Clash, match="sign_in_name"), store.write() as session:
        save_staff(session, Staff("n9", "Nia", Role.MANAGER, None, "nia"))


@pytest.mark.usefixtures("staff")
def test_names_are_answered_for_the_ids_that_are_known(store: Store) -> None:
    lab = Token("t1", "Laboratory", Role.INTERFACE, None, at(0))
    with store.write() as session:
        add_token(session, lab, "hash of t1")

    with store.read() as session:
        named = staff_names(session, ["n1", "n3", "n9", "t1"])

    assert named == {"n1": "Nia", "n3": "Bo", "t1": "Laboratory"}


def _save(store: Store, patient: Patient, minute: int) -> None:
    with store.write() as session:
        save_patient(session, patient, recorded_at=at(minute), recorded_by="nurse-1")
