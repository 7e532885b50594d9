"""Every kind of event is recorded through its form, without scripts, as the payload it means."""

from datetime import timedelta
from typing import Any

import pytest

from server.domain.payloads import Inspected, Voided
from server.domain.words import Kind
from tests.domain.builders import KIND_OF, at
from tests.pages.hospital import Hospital
from tests.pages.phases import in_phase
from tests.pages.recordings import RECORDINGS
from tests.services.people import NURSE

REACTION = {
    Kind.REACTION_SUSPECTED,
    Kind.REACTION_STEP,
    Kind.REACTION_CLOSED,
    Kind.WARNED,
    Kind.WARNING_CHECKED,
}


@pytest.mark.parametrize("name", RECORDINGS)
def test_an_event_is_recorded_through_its_form(hospital: Hospital, name: str) -> None:
    wanted = RECORDINGS[name]
    in_phase(hospital, wanted.phase)
    nurse = hospital.visit(NURSE)

    leads_to = nurse.done("/episodes/e1", wanted.form, **wanted.typed)

    event = hospital.charting.episode(hospital.clock.now).events[-1]
    assert (event.payload, event.happened_at, event.recorded_by, event.staff_id, leads_to) == (
        wanted.expected,
        hospital.clock.now,
        "nurse-1",
        "nurse-1",
        f"/episodes/e1?recorded={event.id}",
    )


def test_every_kind_of_event_is_tried() -> None:
    tried = {KIND_OF[type(one.expected)] for one in RECORDINGS.values()}

    elsewhere = {Kind.IDENTITY_CHECKED, *REACTION}  # on pages of their own
    assert tried == set(Kind) - {Kind.VOIDED, *elsewhere}


def test_a_mistake_is_voided_with_its_reason_and_stays_visible(hospital: Hospital) -> None:
    in_phase(hospital, "issued")
    mistake = hospital.charting.record(10, Inspected(leak=True)).event_id
    nurse = hospital.visit(NURSE)

    nurse.done("/episodes/e1", f"void-{mistake}-voided", reason="the wrong bag")

    page = nurse.see("/episodes/e1")
    last = hospital.charting.episode(at(31)).events[-1]
    assert last.payload == Voided(mistake, "the wrong bag")
    assert "voided 10:30 by Nina Nurse: the wrong bag" in page.text
    assert "<s><b>Bag inspected</b>, leak</s>" in page.html
    assert f"void-{mistake}-voided" not in [form.key for form in page.forms]


def test_a_late_entry_is_accepted_and_marked(hospital: Hospital) -> None:
    in_phase(hospital, "issued")
    nurse = hospital.visit(NURSE)

    nurse.done("/episodes/e1", "receipt-received", happened_at_time="10:08")

    event = hospital.charting.episode(at(31)).events[-1]
    page = nurse.see(f"/episodes/e1?recorded={event.id}")
    assert event.happened_at == at(8)
    assert "late entry: recorded 10:30, 22 min after" in page.text
    assert "Recorded: Received on the ward 10:08" in page.text


def test_a_late_entry_of_yesterday_needs_its_date(hospital: Hospital) -> None:
    hospital.charting.open(now=-60 * 20)
    hospital.clock.now = at(-60 * 8)
    nurse = hospital.visit(NURSE)

    nurse.done(
        "/episodes/e1", "issue-available",
        happened_at_time="23:50", happened_at_date="2026-03-02",
    )  # fmt: skip

    assert hospital.charting.episode(at(0)).events[-1].happened_at == at(-610)


def test_the_form_begins_with_the_present_minute_of_the_ward(hospital: Hospital) -> None:
    hospital.charting.open()
    hospital.clock.now = at(0) + timedelta(days=120)

    values = hospital.visit(NURSE).see("/episodes/e1").form("issue-available").values

    shown: dict[str, Any] = {name: values[f"happened_at_{name}"] for name in ("time", "date")}
    assert shown == {"time": ["11:00"], "date": ["2026-07-01"]}
