"""A refused form: the same page with what was typed and the reason, and nothing stored."""

from dataclasses import replace

import pytest

from server.domain.payloads import (
    Completed,
    Observed,
    ReactionSuspected,
)
from server.domain.words import Kind
from server.services.enter_ward import enter_ward
from tests.domain.builders import POLICIES, at
from tests.pages.hospital import PART, Hospital
from tests.pages.phases import in_phase
from tests.pages.reading import Page
from tests.services.people import ADMINISTRATOR, CHARGE, MANAGER, NURSE, OUTSIDE_CHARGE, WARD_1


def stored(hospital: Hospital) -> int:
    return len(hospital.charting.episode(hospital.clock.now).events)


def test_an_impossible_value_is_refused_beside_its_field(hospital: Hospital) -> None:
    in_phase(hospital, "running")
    before = stored(hospital)

    answer = hospital.visit(NURSE).send(
        "/episodes/e1", "first-observed", temperature_c="386", pulse_per_min="80"
    )

    page = Page(answer.text)
    form = page.form("first-observed")
    assert (answer.status_code, stored(hospital)) == (422, before)
    assert page.errors == {
        "first-observed-temperature_c": "386 is impossible; expected 25 to 45. 38.6?"
    }
    assert "Temperature: 386 is impossible; expected 25 to 45. 38.6?" in page.text
    assert (form.values["temperature_c"], form.values["pulse_per_min"]) == (["386"], ["80"])
    assert "fold-first" in page.opened_details


def test_all_that_cannot_be_read_is_said_at_once(hospital: Hospital) -> None:
    in_phase(hospital, "running")

    answer = hospital.visit(NURSE).send(
        "/episodes/e1",
        "running-observed",
        temperature_c="high",
        pulse_per_min="1,000",
        happened_at_time="25:00",
    )

    assert Page(answer.text).errors == {
        "running-observed-temperature_c": "“high” is not a number; expected for example 36.8",
        "running-observed-pulse_per_min": "“1,000” is not a number; expected for example 36.8",
        "running-observed-happened_at": "expected a time from 00:00 to 23:59",
    }


def test_a_step_that_the_phase_does_not_allow_says_the_phase(hospital: Hospital) -> None:
    in_phase(hospital, "running")
    nurse = hospital.visit(NURSE)
    form = nurse.see("/episodes/e1").form("running-paused")
    hospital.charting.record(28, Completed())
    before = stored(hospital)

    answer = nurse.post(form.action, form.filled({"reason": "lunch"}))

    page = Page(answer.text)
    assert (answer.status_code, stored(hospital)) == (409, before)
    assert "The unit is now: Ended." in page.text
    assert page.form("running-paused").values["reason"] == ["lunch"]
    assert {"fold-running", "fold-running-paused"} <= page.opened_details


@pytest.mark.parametrize(
    ("clock", "why"), [("10:35", "lies in the future"), ("", "no time was entered")]
)
def test_an_instant_that_cannot_be_is_refused(hospital: Hospital, clock: str, why: str) -> None:
    in_phase(hospital, "requested")

    answer = hospital.visit(NURSE).send("/episodes/e1", "issue-available", happened_at_time=clock)

    assert why in Page(answer.text).errors["issue-available-happened_at"]


def test_a_time_that_comes_twice_is_asked_about_and_then_taken(hospital: Hospital) -> None:
    hospital.clock.now = at(0).replace(month=10, day=25, hour=3)
    hospital.charting.open(now=at(0).replace(month=10, day=24))
    nurse = hospital.visit(NURSE)
    typed = {"happened_at_time": "01:30", "happened_at_date": "2026-10-25"}

    answer = nurse.send("/episodes/e1", "issue-available", **typed)

    page = Page(answer.text)
    form = page.form("issue-available")
    assert "comes twice: say which is meant" in page.errors["issue-available-happened_at"]
    assert "the first, 01:30 BST" in page.text
    assert form.options["happened_at_which"] == ["first", "second"]

    nurse.post(form.action, form.filled({"happened_at_which": "first"}))
    happened = hospital.charting.episode(hospital.clock.now).events[-1].happened_at
    assert happened == at(0).replace(month=10, day=25, hour=0, minute=30)


def test_a_time_that_the_clocks_skip_is_refused(hospital: Hospital) -> None:
    hospital.clock.now = at(0).replace(day=29, hour=3)
    hospital.charting.open(now=at(0).replace(day=28))

    answer = hospital.visit(NURSE).send(
        "/episodes/e1", "issue-available",
        happened_at_time="01:30", happened_at_date="2026-03-29",
    )  # fmt: skip

    assert Page(answer.text).errors == {
        "issue-available-happened_at": "01:30 does not exist that night: the clocks skip it"
    }


def test_a_page_that_was_overtaken_lets_no_blood_flow(hospital: Hospital) -> None:
    in_phase(hospital, "paused")
    nurse = hospital.visit(NURSE)
    form = nurse.see("/episodes/e1").form("running-resumed")
    hospital.charting.record(28, ReactionSuspected(("fever",)))

    answer = nurse.post(form.action, form.filled({"rate_ml_h": "120"}))

    page = Page(answer.text)
    assert answer.status_code == 409
    assert "Somebody recorded something on this unit meanwhile." in page.text
    assert "Suspected reaction since 10:28" in page.text
    assert page.form("running-resumed").values["rate_ml_h"] == ["120"]


def test_observations_are_taken_from_a_page_that_was_overtaken(hospital: Hospital) -> None:
    in_phase(hospital, "running")
    nurse = hospital.visit(NURSE)
    form = nurse.see("/episodes/e1").form("first-observed")
    hospital.charting.record(28, ReactionSuspected())

    answer = nurse.post(form.action, form.filled({"pulse_per_min": "130"}))

    assert answer.status_code == 303


def test_a_ward_in_fahrenheit_types_and_reads_fahrenheit(hospital: Hospital) -> None:
    with hospital.store.write() as session:
        draft = replace(WARD_1, temperature_unit="F")
        enter_ward(session, ADMINISTRATOR, draft, POLICIES, now=at(-500))
    in_phase(hospital, "running")
    nurse = hospital.visit(NURSE)

    nurse.done("/episodes/e1", "first-observed", temperature_c="100.4")
    refused = nurse.send("/episodes/e1", "first-observed", temperature_c="37")

    observed = hospital.charting.episode(at(31)).events[-1].payload
    page = Page(refused.text)
    assert observed == Observed(temperature_c=38.0)
    assert page.errors == {
        "first-observed-temperature_c": (
            "37 °F is impossible; expected 77 to 113. Celsius? 37 °C is 98.6 °F"
        )
    }
    assert "100.4 °F" in page.text


def test_a_manager_sees_no_form_but_the_cause(hospital: Hospital) -> None:
    in_phase(hospital, "overdue")

    page = hospital.visit(MANAGER).see("/episodes/e1")

    posts = [form.key for form in page.forms if form.method == "post"]
    assert posts == ["", "record-cause_given"]


def test_what_a_role_may_not_record_is_refused_and_not_lost(hospital: Hospital) -> None:
    in_phase(hospital, "running")
    manager = hospital.visit(MANAGER)
    token = manager.see("/episodes/e1").forms[0].values["csrf_token"]
    values = {"csrf_token": token, "kind": "note", "form_key": "record-note", "text": "hello"}

    answer = manager.post("/episodes/e1/events", values)

    assert answer.status_code == 403
    assert "You may not do this" in Page(answer.text).text


@pytest.mark.parametrize("kind", ["", "born", "issued\n"])
def test_an_unknown_kind_is_refused(hospital: Hospital, kind: str) -> None:
    in_phase(hospital, "requested")
    charge = hospital.visit(CHARGE)
    token = charge.see("/episodes/e1").forms[0].values["csrf_token"]

    answer = charge.post("/episodes/e1/events", {"csrf_token": token, "kind": kind})

    assert answer.status_code == 422
    assert "There is no such kind of event." in Page(answer.text).text


def test_in_place_the_answer_is_the_unit_alone(hospital: Hospital) -> None:
    in_phase(hospital, "requested")
    nurse = hospital.visit(NURSE)
    nurse.headers = PART

    part = nurse.get("/episodes/e1")
    refused = nurse.send("/episodes/e1", "issue-issued", volume_ml="many")

    assert part.text.startswith('<div id="episode"')
    assert (refused.status_code, refused.text.startswith('<div id="episode"')) == (422, True)


def test_how_the_unit_stands_is_fetched_alone(hospital: Hospital) -> None:
    in_phase(hospital, "running")

    text = hospital.visit(NURSE).get("/episodes/e1/standing").text

    assert text.lstrip().startswith('<section class="standing')
    assert [form for form in text.split("<form ")[1:] if not form.startswith('class="touch ')] == []


@pytest.mark.parametrize("kind", Kind)
def test_no_kind_is_recorded_from_another_ward(hospital: Hospital, kind: Kind) -> None:
    in_phase(hospital, "running")
    before, outsider = stored(hospital), hospital.visit(OUTSIDE_CHARGE)
    token = outsider.see("/policies").forms[0].values["csrf_token"]
    answer = outsider.post("/episodes/e1/events", {"csrf_token": token, "kind": kind.value})
    assert (answer.status_code, stored(hospital)) == (403, before)
    assert "Alder" not in answer.text
