"""Breaches, reminders and policies as pages."""

import pytest

from server.domain.payloads import Acknowledged, CauseGiven
from server.domain.words import ClockName
from tests.domain.builders import POLICIES, at
from tests.pages.hospital import Hospital
from tests.pages.reading import Page
from tests.services.people import CHARGE, MANAGER, NURSE


def late_unit(hospital: Hospital) -> None:
    """Unit `e1` runs without its first check, an hour after the base."""
    hospital.charting.run()
    hospital.charting.tick_each(60, at(0), at(60))
    hospital.clock.now = at(60)


def test_the_breaches_of_a_week_lead_to_their_units(hospital: Hospital) -> None:
    late_unit(hospital)

    page = hospital.visit(MANAGER).see("/wards/w1/breaches")

    assert "1 breach on 1 unit: 1 open, 0 explained." in page.text
    assert "First check Tue 3 Mar 10:30 Alder, Ida Red cells 4 30 min open" in page.text
    assert "/episodes/e1/breaches/first_check/1" in page.links


def test_a_cause_stands_beside_its_breach(hospital: Hospital) -> None:
    late_unit(hospital)
    hospital.charting.record(59, CauseGiven(ClockName.FIRST_CHECK, "break or handover", "alone"))

    page = hospital.visit(MANAGER).see("/wards/w1/breaches")

    assert "break or handover alone" in page.text


@pytest.mark.parametrize(
    ("query", "shown"),
    [
        ("from=2026-03-03&to=2026-03-03", True),
        ("from=2026-03-02&to=2026-03-02", False),
        ("from=2026-03-04&to=2026-03-05", False),
        ("from=2026-03-03&to=2026-03-03&clock=first_check", True),
        ("from=2026-03-03&to=2026-03-03&clock=finish", False),
    ],
)
def test_a_period_is_of_whole_days_of_the_ward(
    hospital: Hospital,
    query: str,
    shown: bool,  # noqa: FBT001 - a case of the table
) -> None:
    late_unit(hospital)

    page = hospital.visit(MANAGER).see(f"/wards/w1/breaches?{query}")

    assert ("Alder" in page.text) is shown
    assert ("No limit was passed in this period" in page.text) is not shown


@pytest.mark.parametrize(
    ("query", "field"), [("from=yesterday", "from"), ("from=2026-03-03&to=2026-03-01", "to"),
                         ("clock=lunch", "clock")],
)  # fmt: skip
def test_a_period_that_is_none_is_refused_beside_its_day(
    hospital: Hospital, query: str, field: str
) -> None:
    answer = hospital.visit(MANAGER).get(f"/wards/w1/breaches?{query}")

    assert (answer.status_code, list(Page(answer.text).errors)) == (422, [f"f-{field}"])


def test_the_short_address_leads_to_the_own_ward(hospital: Hospital) -> None:
    assert hospital.visit(MANAGER).get("/breaches").headers["location"] == "/wards/w1/breaches"


def test_a_reminder_that_is_still_owed_can_be_taken_in_hand(hospital: Hospital) -> None:
    late_unit(hospital)
    nurse = hospital.visit(NURSE)
    before = nurse.see("/wards/w1/reminders")
    form = next(form for form in before.forms if form.values.get("clock") == ["first_check"])

    answer = nurse.post(form.action, form.filled({}))

    after = nurse.see(answer.headers["location"])
    said = hospital.charting.episode(at(60)).events[-1].payload
    assert said == Acknowledged(ClockName.FIRST_CHECK, "nurse-1")
    assert (
        "First check !!! overdue 10:25 35 min late escalated again to site manager, 10:45"
        in before.text
    )
    assert "✓ Nina Nurse has it" in after.text
    assert all(form.values.get("clock") != ["first_check"] for form in after.forms)


def test_only_the_own_patients_are_shown_when_asked(hospital: Hospital) -> None:
    late_unit(hospital)
    nurse = hospital.visit(NURSE)

    assert "Nothing that was reminded of is still owed for these patients." in (
        nurse.see("/wards/w1/reminders?nurse=nurse-1").text
    )


def test_a_ward_without_reminders_says_so(hospital: Hospital) -> None:
    assert "No reminders" in hospital.visit(NURSE).see("/wards/w1/reminders").text


def test_a_manager_reads_reminders_and_takes_none(hospital: Hospital) -> None:
    late_unit(hospital)

    page = hospital.visit(MANAGER).see("/wards/w1/reminders")

    assert [form.action for form in page.forms] == ["/sign-out"]


def test_a_reminder_of_no_unit_is_refused(hospital: Hospital) -> None:
    late_unit(hospital)
    charge = hospital.visit(CHARGE)
    token = charge.see("/wards/w1/reminders").forms[0].values["csrf_token"]
    values = {"csrf_token": token, "episode_id": "none", "clock": "start"}

    assert charge.post("/wards/w1/reminders", values).status_code == 404
    assert charge.post("/wards/w1/reminders", values | {"clock": "x"}).status_code == 422


@pytest.mark.parametrize("name", list(POLICIES))
def test_every_value_of_a_policy_is_shown_with_unit_and_source(
    hospital: Hospital, name: str
) -> None:
    page = hospital.visit(NURSE).see(f"/policies/{name}")

    values = POLICIES[name].values.values()
    assert [v.key for v in values if f'id="{v.key}"' not in page.html] == []
    assert page.text.count(" unverified") == sum(not v.verified for v in values) + 1
    assert all(value.source.split(":")[0] in page.text for value in values)


def test_the_list_of_policies_says_which_ward_runs_under_which(hospital: Hospital) -> None:
    page = hospital.visit(NURSE).see("/policies")

    assert "Ward 1" in page.text
    assert {f"/policies/{name}" for name in POLICIES} <= set(page.links)
