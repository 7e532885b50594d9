"""The pathway as a nurse walks it: one press for what is done at once, and what it says after."""

import pytest

from server.domain.payloads import (
    Completed,
    Confirmed,
    Discarded,
    FateRecorded,
    Inspected,
    Payload,
    Received,
    Returned,
    SetHung,
    Spiked,
    Started,
    Stopped,
    Voided,
)
from server.domain.words import Confirmation, Fate
from server.services.actor import Actor
from tests.domain.builders import CHECKED, FULL, SOUND, at
from tests.pages.hospital import Hospital
from tests.pages.phases import in_phase
from tests.pages.reading import Page
from tests.services.charting import local_policy
from tests.services.people import ADMINISTRATOR, COLLEAGUE, MANAGER, NURSE, OUTSIDE_CHARGE

CONSENT = Confirmed(Confirmation.ORDER_CONSENT)
SAMPLE = Confirmed(Confirmation.GROUP_SAMPLE)
ACCESS = Confirmed(Confirmation.ACCESS)
GIVEN = FateRecorded(Fate.TRANSFUSED)
PART_GIVEN = FateRecorded(Fate.PART_TRANSFUSED)


def payloads(hospital: Hospital) -> list[Payload]:
    return [event.payload for event in hospital.charting.episode(hospital.clock.now).events]


MANY = "available received sound spiked set_hung disposed"
PRESSES: dict[str, tuple[str, list[tuple[float, Payload]], str, list[Payload]]] = {
    "all three": ("requested", [], "consent-press-all", [CONSENT, SAMPLE, ACCESS]),
    "both": ("requested", [(-5, CONSENT)], "sample-press-all", [SAMPLE, ACCESS]),
    "whole": (
        "issued", [], "consent-press-whole", [CONSENT, SAMPLE, ACCESS, Received(), Inspected()]
    ),
    "rest and bag": (
        "issued", [(1, CONSENT), (2, SAMPLE)],
        "access-press-whole", [ACCESS, Received(), Inspected()],
    ),
    "collected": ("issued", [], "issue-press-collected", [Confirmed(Confirmation.COLLECTED)]),
    "received": ("issued", [], "receipt-press-sound", [Received(), Inspected()]),
    "sound": ("issued", [(5, Received())], "receipt-press-sound", [Inspected()]),
    "primed": ("checked", [], "line-press-primed", [Spiked(), SetHung()]),
    "rate": ("running", [(25, FULL)], "rate-press-stays", [Confirmed(Confirmation.RATE_REVIEWED)]),
    "disposed": (
        "ended", [], "bag-press-disposed", [Discarded("empty bag disposed of"), GIVEN]
    ),
    "returned": ("ended", [], "bag-press-returned", [Returned(), GIVEN]),
    "part": ("running", [(28, Stopped("fever"))], "bag-press-returned", [Returned(), PART_GIVEN]),
}  # fmt: skip


@pytest.mark.parametrize("name", PRESSES)
def test_one_press_records_what_is_done_in_one_movement(hospital: Hospital, name: str) -> None:
    phase, before, key, expected = PRESSES[name]
    in_phase(hospital, phase)
    for minute, payload in before:
        hospital.charting.record(minute, payload)

    leads_to = hospital.visit(NURSE).done("/episodes/e1", key)

    events = hospital.charting.episode(hospital.clock.now).events[-len(expected) :]
    assert [event.payload for event in events] == expected
    assert {(event.happened_at, event.staff_id) for event in events} == {(at(30, 20), "nurse-1")}
    assert leads_to == "/episodes/e1?" + "&".join(f"recorded={event.id}" for event in events)


def test_what_was_stored_is_said_and_each_of_it_can_be_corrected(hospital: Hospital) -> None:
    in_phase(hospital, "issued")
    nurse = hospital.visit(NURSE)
    shown = nurse.done("/episodes/e1", "receipt-press-sound")
    received, _sound = shown.removeprefix("/episodes/e1?").split("&")
    key = received.removeprefix("recorded=")

    page = nurse.see(shown)
    nurse.done(shown, f"correct-{key}-voided", reason="not here yet")

    assert "Recorded: Received on the ward 10:30; Bag inspected 10:30, sound." in page.text
    assert payloads(hospital)[-1] == Voided(key, "not here yet")


def test_a_press_is_stored_whole_or_not_at_all(hospital: Hospital) -> None:
    in_phase(hospital, "ended")
    nurse = hospital.visit(NURSE)
    form = nurse.see("/episodes/e1").form("bag-press-disposed")
    before = payloads(hospital)
    again = form.filled({"facts": "disposed fate_transfused spiked"})

    answer = nurse.post(form.action, again)

    assert (answer.status_code, payloads(hospital)) == (409, before)
    assert "spiked at 10:30:20 UTC is not possible: the episode is closed then" in answer.text


def test_two_taps_store_once(hospital: Hospital) -> None:
    in_phase(hospital, "issued")
    nurse = hospital.visit(NURSE)
    form = nurse.see("/episodes/e1").form("receipt-press-sound")

    answers = [nurse.post(form.action, form.filled({})) for _tap in range(2)]

    assert [answer.status_code for answer in answers] == [303, 303]
    assert answers[0].headers["location"] == answers[1].headers["location"]
    assert payloads(hospital)[1:] == [Received(), Inspected()]


def test_a_nurse_sees_that_a_colleague_did_it_meanwhile(hospital: Hospital) -> None:
    in_phase(hospital, "issued")
    nurse = hospital.visit(NURSE)
    form = nurse.see("/episodes/e1").form("receipt-press-sound")
    hospital.charting.record(20, Received(), actor=COLLEAGUE)

    answer = nurse.post(form.action, form.filled({}))

    assert answer.status_code == 409
    assert "Cleo Colleague recorded the same for 10:20." in Page(answer.text).text
    assert "10:20 Received on the ward Cleo Colleague" in Page(answer.text).text


@pytest.mark.parametrize("facts", ["", "issued", "received received", MANY, "received '"])
def test_no_other_fact_is_pressed_into_the_log(hospital: Hospital, facts: str) -> None:
    in_phase(hospital, "issued")
    nurse = hospital.visit(NURSE)
    form = nurse.see("/episodes/e1").form("receipt-press-sound")

    answer = nurse.post(form.action, form.filled({"facts": facts}))

    assert (answer.status_code, len(payloads(hospital))) == (422, 1)
    assert "There is no such fact." in answer.text


@pytest.mark.parametrize("person", [MANAGER, ADMINISTRATOR, OUTSIDE_CHARGE], ids=lambda one: one.id)
def test_who_does_not_chart_there_presses_nothing(hospital: Hospital, person: Actor) -> None:
    in_phase(hospital, "issued")
    browser = hospital.visit(person)
    token = browser.see("/policies").forms[0].values["csrf_token"]

    answer = browser.post("/episodes/e1/press", {"csrf_token": token, "facts": "received"})

    assert (answer.status_code, len(payloads(hospital))) == (403, 1)
    assert "Alder" not in answer.text or person is not OUTSIDE_CHARGE


def test_a_manager_is_shown_the_steps_without_buttons(hospital: Hospital) -> None:
    in_phase(hospital, "issued")

    page = hospital.visit(MANAGER).see("/episodes/e1")

    assert "Receipt and inspection" in page.text
    assert [form.key for form in page.forms if "press" in form.key] == []
    assert "/episodes/e1/identity" not in page.links
    assert "Baseline observations later Nothing is recorded here." in page.text


@pytest.mark.parametrize(
    ("query", "step"),
    [("", "receipt"), ("?step=first", "first"), ("?step=prayer", "receipt"), ("?step=", "receipt")],
)
def test_an_address_may_ask_for_a_step(hospital: Hospital, query: str, step: str) -> None:
    in_phase(hospital, "issued")
    for payload in (CONSENT, SAMPLE, ACCESS):
        hospital.charting.record(20, payload)

    page = hospital.visit(NURSE).see(f"/episodes/e1{query}")

    folds = {name for name in page.opened_details if name.count("-") == 1}
    assert folds == {f"fold-{step}"}
    assert 'id="step-receipt" aria-current="step"' in page.html


SHORT = """[pathway.steps]
value = ["received", "identity_checked", "baseline", "started", "first_check", "running_checks",
  "finished", "end_set", "fate"]
"""


def test_steps_that_the_policy_does_not_ask_for_are_not_shown(hospital: Hospital) -> None:
    hospital.charting.put_in_force(local_policy(SHORT), when=-90)
    in_phase(hospital, "issued")
    hospital.charting.record(20, CONSENT)

    page = hospital.visit(NURSE).see("/episodes/e1")

    hidden = ("consent", "sample", "access", "line", "rate", "flush")
    assert [key for key in hidden if f'id="step-{key}"' in page.html] == []
    assert "Confirmed, order and consent" in page.html.replace("<b>", "").replace("</b>", "")


def test_an_override_stays_at_the_head_of_the_page_for_ever(hospital: Hospital) -> None:
    hospital.charting.open()
    hospital.charting.issue()
    hospital.charting.record(10, Started(60, override_reason="massive bleeding"))
    hospital.charting.record(20, Completed())
    hospital.charting.record(30, GIVEN)
    hospital.clock.now = at(60 * 30)

    text = hospital.visit(MANAGER).see("/episodes/e1").text

    assert "Override. Started against the refusal at Tue 3 Mar 10:10 by Nina Nurse: massive" in text


def test_after_a_reaction_the_bag_goes_back(hospital: Hospital) -> None:
    in_phase(hospital, "reaction")
    hospital.charting.record(25, Stopped("suspected reaction"))

    page = hospital.visit(NURSE).see("/episodes/e1?step=bag")

    assert [form.key for form in page.forms if form.key.startswith("bag-press")] == []


def test_a_second_unit_may_use_the_set_that_hangs(hospital: Hospital) -> None:
    hospital.charting.run("e0", bed="4")
    hospital.charting.record(8, SetHung(), "e0", now=26)
    in_phase(hospital, "issued")

    hospital.visit(NURSE).done("/episodes/e1", "line-press-same")

    assert payloads(hospital)[-1] == Spiked()


def test_no_start_is_offered_before_the_unit_is_issued(hospital: Hospital) -> None:
    in_phase(hospital, "requested")

    page = hospital.visit(NURSE).see("/episodes/e1?step=start")

    assert "start-started" not in [form.key for form in page.forms]


def test_nothing_is_missing_any_more_and_the_start_is_plain(hospital: Hospital) -> None:
    in_phase(hospital, "issued")
    for payload in (SOUND, CHECKED):
        hospital.charting.record(20, payload)

    page = hospital.visit(NURSE).see("/episodes/e1?step=start")

    assert "Emergency" not in page.text
    assert "start-started" in [form.key for form in page.forms]
    assert "Identity check done 10:20 Nina Nurse and Cleo Colleague" in page.text


@pytest.mark.parametrize("minute", [25, 40], ids=["in time", "late"])
def test_the_set_that_met_the_first_check_stands_in_its_step(
    hospital: Hospital, minute: int
) -> None:
    in_phase(hospital, "running")
    hospital.clock.now = at(50, 20)
    hospital.charting.observe(minute)
    hospital.charting.observe(45)

    html = hospital.visit(NURSE).see("/episodes/e1").html

    first, running = (
        Page(html.partition(f'id="step-{key}"')[2].partition('id="step-')[0]).text
        for key in ("first", "running")
    )
    assert f"First check done 10:{minute}" in first
    assert ("Running checks" in running, "10:45 Observations" in running) == (True, True)
    assert f"10:{minute} Observations" not in running
