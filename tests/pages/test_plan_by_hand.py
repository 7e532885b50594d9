"""A plan changed by hand on its page: moved, fixed, forbidden, left out, and what that breaks."""

from datetime import timedelta

import pytest

from server.store.plans import read_plan
from tests.domain.builders import at
from tests.pages.hospital import PART, Hospital
from tests.pages.planned_pages import PAGE, accepted, in_force, version_of
from tests.pages.reading import Page


def test_a_unit_is_moved_given_fixed_and_let_go_by_its_form(hospital: Hospital) -> None:
    charge = accepted(hospital)
    form = charge.see(f"{PAGE}?unit=waits").form("hand")
    assert form.action == f"{PAGE}/change"
    moved = {
        "do": "fix", "check_at_time": "12:30", "nurse_id": "nurse-1", "second_id": "nurse-2"
    }  # fmt: skip

    href = charge.post(form.action, {**form.filled({}), **moved}).headers["location"]
    page = charge.see(href)

    assert "fixed by hand" in page.text
    assert "Check 12:30 Runs from" in page.text
    assert "1 start differs from the accepted plan" in page.text
    assert href.endswith("&unit=waits#unit-waits")
    assert in_force(hospital) == "a"
    assert "Undo: the version before" in page.text
    assert f"{PAGE}?version=a" in page.links
    loose = page.form("hand")
    after = charge.post(loose.action, {**loose.filled({}), "do": "loosen"}).headers["location"]
    assert "fixed by hand" not in charge.see(after).text
    out = charge.see(after).form("hand")
    without = charge.post(out.action, {**out.filled({}), "do": "leave_out"}).headers["location"]
    assert "No start: left out by hand" in charge.see(without).text


def test_a_time_that_is_not_wanted_is_kept_and_taken_away(hospital: Hospital) -> None:
    charge = accepted(hospital)
    form = charge.see(f"{PAGE}?unit=waits").form("hand")
    times: dict[str, str | list[str]] = {
        "forbidden_from_time": "11:00", "forbidden_until_time": "11:30",
        "forbidden_from_date": "2026-03-03", "forbidden_until_date": "2026-03-03",
    }  # fmt: skip

    href = charge.post(form.action, {**form.filled(times), "do": "forbid"}).headers["location"]
    page = charge.see(href)
    assert "not 11:00–11:30" in page.text
    free = page.form("hand")
    href = charge.post(free.action, {**free.filled({}), "do": "allow"}).headers["location"]

    assert "not 11:00–11:30" not in charge.see(href).text


@pytest.mark.parametrize(
    ("first", "last", "said"),
    [
        ("11:00", "11:30", "not 11:00–11:30"),
        ("09:50", "10:45", "not 09:50–10:45"),
        ("17:30", "00:30", "not 17:30–00:30"),
        ("00:30", "01:00", "not 00:30–01:00"),
        ("22:00", "23:30", "not 22:00–23:30"),
    ],
)
def test_times_without_a_date_are_those_nearest_to_the_plan(
    hospital: Hospital, first: str, last: str, said: str
) -> None:
    charge = accepted(hospital)
    form = charge.see(f"{PAGE}?unit=waits").form("hand")
    times = {"do": "forbid", "forbidden_from_time": first, "forbidden_until_time": last}

    href = charge.post(form.action, {**form.filled({}), **times}).headers["location"]

    assert said in charge.see(href).text
    with hospital.store.read() as session:
        kept = read_plan(session, version_of(href))
    assert kept is not None
    (stretch,) = kept.wishes[0].forbidden
    assert timedelta(0) < stretch.until_at - kept.proposal.from_at <= timedelta(hours=24)
    assert timedelta(0) < stretch.length <= timedelta(hours=7)


@pytest.mark.parametrize(
    ("typed", "field", "why"),
    [
        ({"do": "move", "check_at_time": "25:00"}, "check_at", "expected a time from 00:00"),
        ({"do": "move", "check_at_time": ""}, "check_at", "no time was entered"),
        ({"do": "move", "check_at_time": "09:00"}, "check_at", "lies outside the plan"),
        ({"do": "forbid"}, "forbidden_from", "no time was entered"),
        (
            {
                "do": "forbid",
                "forbidden_from_time": "11:00",
                "forbidden_from_date": "2026-03-03",
                "forbidden_until_time": "10:30",
                "forbidden_until_date": "2026-03-03",
            },
            "forbidden_until",
            "is not after its beginning",
        ),
        ({"do": "swap"}, "do", "is none of the choices"),
    ],
)
def test_what_is_wrong_stands_beside_its_field_and_nothing_is_lost(
    hospital: Hospital, typed: dict[str, str], field: str, why: str
) -> None:
    charge = accepted(hospital)
    form = charge.see(f"{PAGE}?unit=waits").form("hand")
    before = hospital.charting.everything("view")

    answer = charge.post(form.action, {**form.filled({}), "nurse_id": "nurse-2", **typed})

    page = Page(answer.text)
    assert answer.status_code == 422
    assert why in (page.errors.get(f"f-{field}", "") or page.text)
    assert page.form("hand").values["nurse_id"] == ["nurse-2"]
    assert page.form("hand").values["check_at_time"] == [
        typed.get("check_at_time", form.values["check_at_time"][0])
    ]
    assert hospital.charting.everything("view") == before


def test_what_a_change_breaks_is_said_before_it_is_accepted(hospital: Hospital) -> None:
    charge = accepted(hospital)
    form = charge.see(f"{PAGE}?unit=waits").form("hand")
    clash = {"do": "move", "check_at_time": "14:00", "nurse_id": "nurse-1", "second_id": "nurse-1"}

    href = charge.post(form.action, {**form.filled({}), **clash}).headers["location"]
    page = charge.see(href)

    assert "the second checker has to be somebody other than the first" in page.text
    assert "Accept, though" in page.text
    assert "Worth: without a start 0" in page.text
    hospital.clock.now = at(31)
    charge.done(f"{PAGE}?version={version_of(href)}", "accept")
    assert in_force(hospital) == version_of(href)


def test_a_change_by_scripts_is_answered_as_the_part_alone(hospital: Hospital) -> None:
    charge = accepted(hospital)
    html = charge.get(f"{PAGE}?unit=waits", **PART).text

    assert "<html" not in html
    assert html.lstrip().startswith('<div id="plan"')
