"""A start that lacks something: what is missing, the way to it, and the override."""

from dataclasses import replace

from server.domain.payloads import IdentityChecked, Inspected
from tests.pages.hospital import Hospital
from tests.pages.phases import in_phase
from tests.pages.reading import Page
from tests.pages.recordings import MATCHED
from tests.services.people import NURSE


def stored(hospital: Hospital) -> int:
    return len(hospital.charting.episode(hospital.clock.now).events)


def test_what_is_missing_before_the_start_is_listed_with_the_way_to_it(hospital: Hospital) -> None:
    in_phase(hospital, "issued")

    page = hospital.visit(NURSE).see("/episodes/e1?step=start")

    ways = {words: href for href, words in page.links.items() if "?step=" in href}
    assert ways["the bag was not inspected"] == "/episodes/e1?step=receipt#step-receipt"
    assert ways["identity was not checked by two people at the bedside"] == (
        "/episodes/e1?step=identity#step-identity"
    )
    assert "Emergency: start without it" in page.text
    assert "override_reason" in page.form("start-started").values
    assert "fold-start-started" not in page.opened_details


def test_a_refused_start_shows_the_reason_and_offers_the_override(hospital: Hospital) -> None:
    in_phase(hospital, "issued")
    nurse = hospital.visit(NURSE)

    answer = nurse.send("/episodes/e1", "start-started", rate_ml_h="60", site="left arm")

    page = Page(answer.text)
    form = page.form("start-started")
    assert answer.status_code == 409
    assert "The start is refused: the bag was not inspected; identity was not checked" in page.text
    assert (form.values["rate_ml_h"], form.values["site"]) == (["60"], ["left arm"])
    assert form.values["override_reason"] == [""]

    sent = nurse.post(form.action, form.filled({"override_reason": "massive bleeding"}))
    assert sent.status_code == 303


def test_a_start_is_not_offered_an_override_while_nothing_is_missing(hospital: Hospital) -> None:
    in_phase(hospital, "checked")

    page = hospital.visit(NURSE).see("/episodes/e1")

    assert "override_reason" not in page.form("start-started").values


def test_a_mismatch_is_never_overridden(hospital: Hospital) -> None:
    in_phase(hospital, "issued")
    hospital.charting.record(20, Inspected())
    wrong = (*MATCHED[:5], replace(MATCHED[5], matched=False))
    hospital.charting.record(22, IdentityChecked("nurse-1", wrong, "nurse-2"))

    nurse = hospital.visit(NURSE)
    page = nurse.see("/episodes/e1")

    typed = {"kind": "started", "rate_ml_h": "60", "override_reason": "in a hurry"}
    token = page.forms[0].values["csrf_token"]
    answer = nurse.post("/episodes/e1/events", {**typed, "csrf_token": token})

    assert "start-started" not in [form.key for form in page.forms]
    assert answer.status_code == 409
    assert "the identity check found a mismatch (unit number)" in Page(answer.text).text


def test_no_identity_check_is_recorded_by_one_person_for_two(hospital: Hospital) -> None:
    in_phase(hospital, "issued")
    nurse = hospital.visit(NURSE)
    page = nurse.see("/episodes/e1")

    typed = {"kind": "identity_checked", "first_by": "nurse-1", "second_by": "nurse-2"}
    token = page.forms[0].values["csrf_token"]
    answer = nurse.post("/episodes/e1/events", {**typed, "csrf_token": token})

    assert "/episodes/e1/identity" in page.links
    assert (answer.status_code, stored(hospital)) == (422, 1)
    assert "Identity is checked on a page of its own." in Page(answer.text).text
