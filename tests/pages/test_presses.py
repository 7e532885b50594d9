"""What one press offers where, what stands in the form of the start, and how a scan leads on."""

import pytest

from server.domain.payloads import Confirmed, IdentityChecked, Received, Stopped
from server.domain.words import Confirmation
from tests.domain.builders import at
from tests.pages.hospital import Hospital
from tests.pages.phases import in_phase
from tests.pages.reading import Page
from tests.pages.recordings import MATCHED
from tests.services.charting import local_policy
from tests.services.people import MANAGER, NURSE

UNIT = "/episodes/e1"
BEGIN = f"{UNIT}/identity"


def presses(page: Page, step: str) -> list[str]:
    return [form.key for form in page.forms if form.key.startswith(f"{step}-press-")]


@pytest.mark.parametrize(
    ("phase", "received", "expected"),
    [
        ("requested", [], ["consent-press-all"]),
        ("issued", [], ["consent-press-whole", "consent-press-all"]),
        ("issued", [Received()], ["consent-press-all"]),
    ],
)
def test_the_bag_is_pressed_sound_only_once_it_was_issued(
    hospital: Hospital, phase: str, received: list[Received], expected: list[str]
) -> None:
    in_phase(hospital, phase)
    for fact in received:
        hospital.charting.record(10, fact)

    page = hospital.visit(NURSE).see(UNIT)

    assert presses(page, "consent") == expected


def test_a_press_says_all_that_it_records(hospital: Hospital) -> None:
    in_phase(hospital, "issued")

    text = hospital.visit(NURSE).see(UNIT).text

    said = (
        "Confirm all 3; received, bag sound Order and consent, group and sample, line and access. "
        "No leak, no clots, colour as it should be, label readable. Confirm all 3 only"
    )
    assert said in text


def test_the_last_that_is_to_be_confirmed_is_named(hospital: Hospital) -> None:
    in_phase(hospital, "issued")
    for minute, step in ((1, Confirmation.ORDER_CONSENT), (2, Confirmation.GROUP_SAMPLE)):
        hospital.charting.record(minute, Confirmed(step))

    page = hospital.visit(NURSE).see(UNIT)

    assert presses(page, "access") == ["access-press-whole"]
    assert "Confirm line and access; received, bag sound" in page.text


# ---- the start ----


@pytest.mark.parametrize(
    ("policy", "expected"),
    [
        ("", "60"),
        ("[rate.first_max_ml_h]\nvalue = 50\n", "50"),
        ("[rate.max_ml_h.default]\nvalue = 45\n", "45"),
    ],
    ids=["common", "slower by policy", "less is permitted"],
)
def test_the_slow_rate_of_the_policy_stands_in_the_start(
    hospital: Hospital, policy: str, expected: str
) -> None:
    if policy:
        hospital.charting.put_in_force(local_policy(policy), when=-300)
    in_phase(hospital, "checked")

    form = hospital.visit(NURSE).see(UNIT).form("start-started")

    assert form.values["rate_ml_h"] == [expected]


def test_a_start_against_the_refusal_says_its_own_rate(hospital: Hospital) -> None:
    in_phase(hospital, "issued")

    form = hospital.visit(NURSE).see(UNIT).form("start-started")

    assert form.values["rate_ml_h"] == [""]


# ---- the end ----


@pytest.mark.parametrize(
    ("phase", "fold"),
    [("running", "fold-end-completed"), ("reaction", "fold-end-stopped")],
)
def test_the_end_that_is_likely_stands_open_where_it_is_asked_for(
    hospital: Hospital, phase: str, fold: str
) -> None:
    in_phase(hospital, phase)

    page = hospital.visit(NURSE).see(f"{UNIT}?step=end")

    assert [one for one in page.opened_details if one.startswith("fold-end-")] == [fold]


@pytest.mark.parametrize("step", ["flush", "bag"])
def test_flush_and_bag_are_within_reach_after_a_suspected_reaction(
    hospital: Hospital, step: str
) -> None:
    in_phase(hospital, "reaction")
    hospital.charting.record(26, Stopped("suspected reaction"))

    page = hospital.visit(NURSE).see(f"{UNIT}?step={step}")

    forms = {"flush": ["flush-flushed"], "bag": ["bag-fate", "bag-returned"]}
    assert [form.key for form in page.forms if form.key.startswith(f"{step}-")] == forms[step]


# ---- the identity check ----


def test_a_scan_on_the_page_of_the_unit_begins_the_check(hospital: Hospital) -> None:
    in_phase(hospital, "issued")
    nurse = hospital.visit(NURSE)
    nurse.done(UNIT, "consent-press-whole")
    (form,) = (form for form in nurse.see(UNIT).forms if form.action == BEGIN)

    answer = nurse.post(BEGIN, form.filled({"scan": "T000001"}))

    assert (answer.status_code, answer.headers["location"]) == (303, BEGIN)
    assert "Read 1 of 6" in nurse.see(BEGIN).text


def test_before_and_after_its_step_a_scan_begins_nothing(hospital: Hospital) -> None:
    in_phase(hospital, "issued")
    nurse = hospital.visit(NURSE)
    before = [form.action for form in nurse.see(UNIT).forms]
    nurse.done(UNIT, "consent-press-whole")
    manager = [form.action for form in hospital.visit(MANAGER).see(UNIT).forms]
    hospital.charting.record(31, IdentityChecked("nurse-1", MATCHED, "nurse-2"))
    hospital.clock.now = at(32)
    after = [form.action for form in nurse.see(UNIT).forms]

    assert [BEGIN in actions for actions in (before, manager, after)] == [False, False, False]
