"""Units change hands on pages, and what a colleague recorded meanwhile is seen first."""

import pytest

from server.domain.payloads import Assigned, SetHung
from server.services.actor import Actor
from server.services.enter_shift import ShiftDraft, enter_shift
from server.store.shifts import Break
from tests.domain.builders import FULL, at
from tests.pages.hospital import Hospital
from tests.pages.my_units import busy
from tests.services.people import CHARGE, COLLEAGUE, NURSE
from tests.services.poison import CANNOT_BE_READ, tamper


def test_a_unit_is_handed_over_from_its_row(hospital: Hospital) -> None:
    with busy(hospital).store.write() as session:
        shift = ShiftDraft("nurse-2", "w1", at(-60), at(400), (Break(at(20), at(40)),))
        enter_shift(session, CHARGE, shift, now=at(-240))
    nurse = hospital.visit(NURSE)

    page = nurse.see("/mine/units/e1")

    assert page.form("hand-over").options["to"] == ["nurse-2", "charge-1"]
    assert "Cleo Colleague, on a break until 10:40" in page.text
    assert "Carl Charge, not on the plan now" in page.text
    assert nurse.done("/mine/units/e1", "hand-over", to="nurse-2") == "/mine"
    assert hospital.charting.episode(at(28)).events[-1].payload == Assigned("nurse-2")
    said = nurse.see("/episodes/e1").text
    assert "Assigned , handed over to Cleo Colleague" in said.replace("Assigned,", "Assigned ,")


def test_everything_of_a_patient_is_handed_over(hospital: Hospital) -> None:
    busy(hospital).charting.open("e3", nurse_id="nurse-1")
    nurse = hospital.visit(NURSE)

    nurse.done("/mine/units/e1", "hand-over", to="nurse-2", what="patient")

    units = ("e1", "e2", "e3")
    assert [hospital.charting.state(one).nurse_id for one in units] == [
        "nurse-2",
        "nurse-1",
        "nurse-2",
    ]


def test_a_hand_over_to_nobody_is_refused_and_keeps_what_was_chosen(hospital: Hospital) -> None:
    nurse = busy(hospital).visit(NURSE)

    answer = nurse.send("/mine/units/e1", "hand-over", what="patient")

    assert answer.status_code == 422
    assert "nothing was entered; this is needed" in answer.text
    assert 'value="patient" checked' in answer.text


def test_a_colleague_s_unit_is_taken_over_from_the_list_of_all(hospital: Hospital) -> None:
    colleague = busy(hospital).visit(COLLEAGUE)

    page = colleague.see("/mine/take-over")
    (form,) = [
        one for one in page.forms
        if one.action == "/mine/units/e1/take-over" and one.values["what"] == ["unit"]
    ]  # fmt: skip
    answers = [colleague.post(form.action, form.filled({})) for _ in range(2)]

    assert [one.headers["location"] for one in answers] == ["/mine", "/mine"]
    events = hospital.charting.episode(at(28)).events
    assert [one.payload for one in events].count(Assigned("nurse-2")) == 1
    assert "taken over by Cleo Colleague" in colleague.see("/episodes/e1").text
    assert "/episodes/e1" not in colleague.see("/mine/take-over").links


def test_who_was_slower_is_told_who_has_the_unit(hospital: Hospital) -> None:
    colleague = busy(hospital).visit(COLLEAGUE)
    form = colleague.see("/mine/units/e1").form("take-unit")
    hospital.charting.record(27, Assigned("charge-1"), actor=CHARGE)

    answer = colleague.post(form.action, form.filled({}))

    assert answer.status_code == 409
    assert "Carl Charge has this unit meanwhile; look at it again" in answer.text


def test_a_nurse_sees_that_a_colleague_s_unit_is_not_theirs_to_hand_over(
    hospital: Hospital,
) -> None:
    page = busy(hospital).visit(COLLEAGUE).see("/mine/units/e1")

    assert [form.key for form in page.forms][-2:] == ["take-unit", "take-patient"]
    assert "Nina Nurse has it." in page.text


def test_without_units_of_colleagues_the_list_says_so(hospital: Hospital) -> None:
    assert "No units of colleagues" in busy(hospital).visit(NURSE).see("/mine/take-over").text


def test_a_set_that_a_colleague_recorded_meanwhile_is_seen_first(hospital: Hospital) -> None:
    nurse = busy(hospital).visit(NURSE)
    form = nurse.see("/episodes/e1").form("first-observed")
    typed = form.filled({
        "temperature_c": "36.8", "pulse_per_min": "80", "respirations_per_min": "16",
        "systolic_mmhg": "120", "diastolic_mmhg": "70",
    })  # fmt: skip
    hospital.charting.observe(27, observed=FULL, actor=COLLEAGUE)

    first = nurse.post(form.action, typed)
    again = nurse.post(form.action, {**typed, "seen": ["99"], "once": ["another"]})

    assert (first.status_code, again.status_code) == (409, 303)
    assert "Cleo Colleague recorded the same for 10:27" in first.text
    assert "Nothing of yours was stored; what you typed is kept." in first.text
    assert 'value="80"' in first.text
    assert len(hospital.charting.episode(at(28)).observations) == 3


def test_one_s_own_set_does_not_stand_in_the_way(hospital: Hospital) -> None:
    nurse = busy(hospital).visit(NURSE)
    form = nurse.see("/episodes/e1").form("first-observed")
    hospital.charting.observe(27, actor=NURSE)
    hospital.charting.record(27, SetHung(), actor=COLLEAGUE)

    answer = nurse.post(form.action, form.filled({"temperature_c": "36.8"}))

    assert answer.status_code == 303


@pytest.mark.parametrize(
    ("person", "form", "chosen"),
    [(NURSE, "hand-over", {"to": "nurse-2", "what": "patient"}), (COLLEAGUE, "take-patient", {})],
    ids=["hand over", "take over"],
)
def test_what_cannot_be_read_is_named_to_whoever_hands_or_takes_the_rest(
    hospital: Hospital, person: Actor, form: str, chosen: dict[str, str]
) -> None:
    busy(hospital).charting.open("e3", nurse_id="nurse-1")
    tamper(hospital.store, CANNOT_BE_READ)
    visit = hospital.visit(person)

    onto = visit.done("/mine/units/e3", form, **chosen)
    told, plain = visit.see(onto), visit.see("/mine")

    assert onto == "/mine?left=e1"
    assert "Bed 4, Red cells: did not change hands Here Nina Nurse still has it." in told.text
    assert "Hand it over at the bedside, by word and with the paper sheet" in told.text
    assert "did not change hands" not in plain.text
    assert hospital.charting.state("e3").nurse_id == "nurse-2"
