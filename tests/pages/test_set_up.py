"""Wards, staff, shifts, patients and orders: entered, listed and changed through plain forms."""

import pytest

from server.domain.words import BloodGroup, Component, Phase, Priority, Role
from server.services.enter_shift import ShiftDraft, enter_shift, list_shifts
from server.services.enter_staff import list_staff
from server.services.enter_ward import list_wards, read_ward_policy
from server.services.open_order import list_orders
from server.services.register_patient import find_patients
from server.store.shifts import Break
from tests.domain.builders import at
from tests.pages.hospital import Hospital
from tests.pages.reading import Page
from tests.services.people import ADMINISTRATOR, CHARGE, NURSE, PROGRAM

LONG = "Wolfeschlegelsteinhausenbergerdorff-Featherstonehaugh-Cholmondeley"
PATIENT = {
    "record_number": "T000077",
    "family_name": LONG,
    "given_name": "Łucja Ngọc",
    "birth_date": "2019-02-28",
    "blood_group": "AB-",
    "weight_kg": "14,5",
    "pregnant": "false",
    "overload_risks": "heart failure, small child",
    "spo2_scale": "1",
}
ORDER: dict[str, str | list[str]] = {
    "patient_id": "p1",
    "bed": "4",
    "component": "red_cells",
    "units": "2",
    "volume_ml": "280",
    "priority": "urgent",
    "not_before_time": "11:00",
    "not_before_date": "2026-03-03",
    "max_rate_ml_h": "150",
    "duration_minutes": "90",
    "requirements": ["irradiated", "cmv_negative"],
    "nurse_id": "nurse-1",
}
SHIFT = {
    "staff_id": "nurse-1",
    "starts_at_time": "19:30",
    "starts_at_date": "2026-03-03",
    "ends_at_time": "07:30",
    "ends_at_date": "2026-03-04",
    "break_1_from_time": "23:00",
    "break_1_until_time": "23:30",
}


def test_a_patient_is_registered_found_and_changed(hospital: Hospital) -> None:
    charge = hospital.visit(CHARGE)

    leads_to = charge.done("/patients/new", "/patients", **PATIENT)
    href = next(h for h, text in charge.see(leads_to).links.items() if text.startswith("Wolfe"))
    form = charge.see(href).form(href)
    typed = {name: form.values[name] for name in PATIENT}
    charge.done(href, href, weight_kg="15", pregnant=[], overload_risks="")

    with hospital.store.read() as session:
        (found,) = find_patients(session, PROGRAM, "T000077")
    assert typed == {name: [value.replace(",5", ".5")] for name, value in PATIENT.items()}
    assert (found.family_name, found.blood_group, found.weight_kg, found.pregnant) == (
        LONG,
        BloodGroup.AB_NEG,
        15,
        None,
    )
    assert (found.overload_risks, found.spo2_scale) == ((), 1)


def test_a_refused_patient_keeps_what_was_typed(hospital: Hospital) -> None:
    answer = hospital.visit(CHARGE).send(
        "/patients/new", "/patients", **(PATIENT | {"weight_kg": "900", "birth_date": ""})
    )

    page = Page(answer.text)
    assert (answer.status_code, page.errors) == (
        422,
        {"f-weight_kg": "900 is impossible; expected 0.2 to 500"},
    )
    assert page.form("/patients").values["family_name"] == [LONG]
    assert page.form("/patients").values["pregnant"] == ["false"]


def test_an_order_gives_its_units_and_stands_in_the_list(hospital: Hospital) -> None:
    charge = hospital.visit(CHARGE)

    leads_to = charge.done("/wards/w1/orders/new?patient=p1", "/wards/w1/orders", **ORDER)

    with hospital.store.read() as session:
        (ordered,) = list_orders(session, PROGRAM, "w1")
    order = ordered.order
    assert (order.component, order.units, order.priority, order.not_before) == (
        Component.RED_CELLS,
        2,
        Priority.URGENT,
        at(60),
    )
    assert order.requirements == ("irradiated", "cmv_negative")
    assert hospital.charting.episode(at(1), ordered.episode_ids[1]).picture.episode.nurse_id == (
        "nurse-1"
    )
    assert "Alder, Ida 4 Red cells 2 urgent 10:00 Change" in charge.see(leads_to).text


def test_a_changed_order_withdraws_what_is_not_issued_and_orders_it_anew(
    hospital: Hospital,
) -> None:
    charge = hospital.visit(CHARGE)
    charge.done("/wards/w1/orders/new", "/wards/w1/orders", **ORDER)
    with hospital.store.read() as session:
        (before,) = list_orders(session, PROGRAM, "w1")
    hospital.charting.issue(before.episode_ids[0])
    hospital.clock.now = at(5)
    href = f"/wards/w1/orders/{before.order.id}/change"
    form = charge.see(href).form(href)
    assert (form.values["units"], form.values["not_before_time"]) == (["1"], ["11:00"])

    charge.done(href, href, bed="12", max_rate_ml_h="100")

    with hospital.store.read() as session:
        after = next(o for o in list_orders(session, PROGRAM, "w1") if o != before)
    phases = [hospital.charting.episode(at(6), one).picture for one in before.episode_ids]
    assert [one.episode.phase for one in phases] == [Phase.ISSUED, Phase.CANCELLED]
    assert (after.order.bed, after.order.units, after.order.max_rate_ml_h) == ("12", 1, 100)


@pytest.mark.parametrize(
    ("typed", "errors"),
    [
        ({"units": "0"}, {"f-units": "0 is impossible; expected 1 to 40"}),
        ({"units": "two"}, {"f-units": "“two” is not a whole number"}),
        ({"bed": " "}, {"f-bed": "nothing was entered; this is needed"}),
        ({"component": ""}, {"f-component": "nothing was entered; this is needed"}),
        ({"not_before_time": "11 am"}, {"f-not_before": "expected a time from 00:00 to 23:59"}),
        ({"nurse_id": "nurse-9"}, {"f-nurse_id": "is none of the choices"}),
    ],
)
def test_a_refused_order_places_nothing(
    hospital: Hospital, typed: dict[str, str], errors: dict[str, str]
) -> None:
    answer = hospital.visit(CHARGE).send(
        "/wards/w1/orders/new", "/wards/w1/orders", **(ORDER | typed)
    )

    with hospital.store.read() as session:
        assert list_orders(session, PROGRAM, "w1") == ()
    page = Page(answer.text)
    assert (answer.status_code, page.errors) == (422, errors)
    assert page.form("/wards/w1/orders").values["requirements"] == ["irradiated", "cmv_negative"]


def test_a_ward_is_entered_and_changed(hospital: Hospital) -> None:
    admin = hospital.visit(ADMINISTRATOR)
    entered = {"name": "Aspen", "policy": "nz", "timezone": "Pacific/Auckland"}

    admin.done("/wards/new", "/wards", **entered, next_contact="duty manager")
    href = next(h for h, text in admin.see("/wards").links.items() if text == "Aspen")
    settings = href.replace("/board", "/settings")
    admin.done(settings, settings, name="Aspen ward", policy="au", temperature_unit="F")

    with hospital.store.read() as session:
        ward = next(one for one in list_wards(session, ADMINISTRATOR) if "Aspen" in one.name)
        policy = read_ward_policy(session, ward.id, now=at(0))
    assert (ward.name, ward.timezone, ward.temperature_unit, ward.next_contact, policy.name) == (
        "Aspen ward",
        "Pacific/Auckland",
        "F",
        "duty manager",
        "au",
    )
    assert "No units on Aspen ward" in admin.see(href).text


def test_a_refused_ward_keeps_what_was_typed(hospital: Hospital) -> None:
    answer = hospital.visit(ADMINISTRATOR).send(
        "/wards/new", "/wards", name="Aspen", policy="home-made", timezone="Mars/Crater"
    )

    page = Page(answer.text)
    assert answer.status_code == 422
    assert set(page.errors) == {"f-policy"}
    assert page.form("/wards").values["name"] == ["Aspen"]


def test_somebody_is_entered_signs_in_and_is_changed(hospital: Hospital) -> None:
    admin = hospital.visit(ADMINISTRATOR)
    entered = {"name": LONG, "sign_in_name": "new-one", "password": "ten letters"}

    admin.done("/wards/w1/staff/new", "/wards/w1/staff", **entered, role="charge_nurse")
    signed_in = hospital.visit().send(
        "/sign-in", "/sign-in", sign_in_name="new-one", password="ten letters"
    )
    href = next(h for h, text in admin.see("/wards/w1/staff").links.items() if text == LONG)
    admin.done(href, href, role="manager", wards=["w1", "w2"], active=[])

    with hospital.store.read() as session:
        member = next(one for one in list_staff(session, ADMINISTRATOR, "w2") if one.name == LONG)
    assert signed_in.status_code == 303
    assert (member.role, member.wards, member.active) == (
        Role.MANAGER,
        frozenset({"w1", "w2"}),
        False,
    )


@pytest.mark.parametrize(
    ("typed", "status", "words"),
    [
        ({"password": "short"}, 422, "is too short; expected at least 10 characters"),
        ({"sign_in_name": "nurse-1"}, 409, "that sign-in name is taken"),
        ({"name": ""}, 422, "nothing was entered; this is needed"),
    ],
)
def test_a_refused_member_of_staff_keeps_all_but_the_password(
    hospital: Hospital, typed: dict[str, str], status: int, words: str
) -> None:
    entered = {"name": "Noa New", "sign_in_name": "noa", "password": "ten letters"}

    answer = hospital.visit(ADMINISTRATOR).send(
        "/wards/w1/staff/new", "/wards/w1/staff", **(entered | typed)
    )

    page = Page(answer.text)
    values = page.form("/wards/w1/staff").values
    assert (answer.status_code, words in page.text) == (status, True)
    assert (values["password"], values["wards"]) == ([""], ["w1"])


def test_a_nurse_reads_the_staff_without_what_they_sign_in_with(hospital: Hospital) -> None:
    page = hospital.visit(NURSE).see("/wards/w1/staff")

    assert "Carl Charge charge nurse yes" in page.text
    assert "charge-1" not in page.html.replace("/wards/", "")


def test_a_night_shift_is_entered_changed_and_taken_off(hospital: Hospital) -> None:
    charge = hospital.visit(CHARGE)

    listed = charge.see(charge.done("/wards/w1/shifts/new", "/wards/w1/shifts", **SHIFT))
    href = next(h for h, text in listed.links.items() if text == "Change")
    charge.done(href, href, ends_at_time="08:00")
    with hospital.store.read() as session:
        (shift,) = list_shifts(session, CHARGE, "w1", at(0), at(60 * 24))
    charge.done(href, href, remove="true")

    pauses = [(one.starts_at, one.ends_at) for one in shift.breaks]
    assert (shift.starts_at, shift.ends_at, pauses) == (
        at(570),
        at(1320),
        [(at(780), at(810))],
    )
    assert "Nina Nurse Tue 3 Mar 19:30 Wed 4 Mar 07:30 23:00 to 23:30 Change" in listed.text
    assert "No shift is entered for the coming week." in charge.see("/wards/w1/shifts").text


def test_no_break_is_lost_however_many_there_are(hospital: Hospital) -> None:
    charge = hospital.visit(CHARGE)
    breaks = tuple(Break(at(60 * n), at(60 * n + 20)) for n in (2, 4, 6))
    with hospital.store.write() as session:
        draft = ShiftDraft("nurse-1", "w1", at(0), at(480), breaks, id="s1")
        enter_shift(session, CHARGE, draft, now=at(-240))

    charge.done("/wards/w1/shifts/s1", "/wards/w1/shifts/s1", break_4_from_time="17:00",
                break_4_until_time="17:15")  # fmt: skip

    with hospital.store.read() as session:
        (shift,) = list_shifts(session, CHARGE, "w1", at(0), at(480))
    assert shift.breaks == (*breaks, Break(at(420), at(435)))


@pytest.mark.parametrize(
    ("typed", "field"),
    [
        ({"ends_at_date": "2026-03-02"}, "ends_at"),
        ({"break_1_until_time": "22:00"}, "break_1_until"),
        ({"break_1_from_time": "18:00"}, "break_1_from"),
        ({"break_1_until_time": ""}, "break_1_until"),
        ({"break_1_from_time": ""}, "break_1_from"),
        ({"staff_id": ""}, "staff_id"),
    ],
)
def test_a_refused_shift_says_beside_which_time(
    hospital: Hospital, typed: dict[str, str], field: str
) -> None:
    answer = hospital.visit(CHARGE).send(
        "/wards/w1/shifts/new", "/wards/w1/shifts", **(SHIFT | typed)
    )

    page = Page(answer.text)
    assert (answer.status_code, list(page.errors)) == (422, [f"f-{field}"])
    assert page.form("/wards/w1/shifts").values["starts_at_time"] == ["19:30"]
