"""The review as a page: what it says, what is asked of it, changes of the ward, all wards."""

from datetime import date

import pytest

from server.domain.payloads import Completed, Confirmed, Issued, Returned
from server.domain.review.days import Days
from server.domain.review.periods import By
from server.domain.words import ClockName, Component, Confirmation
from server.pages.reviews.course_view import course_view
from server.pages.reviews.filters import Wanted
from server.services.actor import Actor
from server.services.enter_staff import enter_staff
from server.services.review_ground import Asked
from server.services.review_period import review_period
from tests.domain.builders import at
from tests.pages.hospital import Hospital
from tests.pages.reading import Page
from tests.services.people import (
    ADMINISTRATOR,
    CHARGE,
    MANAGER,
    NURSE,
    OUTSIDER,
    PROGRAM,
    W1,
    W2,
    staff_draft,
)

HREF = "/wards/w1/review"
MARCH = f"{HREF}?from=2026-03-01&to=2026-03-31"
BOTH = Actor("manager-2", "Mo Both", MANAGER.role, W1 | W2, staff_id="manager-2")


@pytest.fixture
def reviewed(hospital: Hospital) -> Hospital:
    """24 units begun after 10 min, the first check of one of them late; one sent back."""
    charting = hospital.charting
    for number in range(24):
        patient = "p1" if number % 2 else "p2"
        charting.open(f"e{number}", patient)
        charting.issue(f"e{number}")
        charting.start(f"e{number}")
    charting.observe(5, "p1")
    charting.observe(5, "p2")
    charting.observe(25, "p1")
    charting.observe(35, "p2")
    charting.record(100, Completed(), "e0")
    charting.record(110, Confirmed(Confirmation.REASSESSED), "e0")
    charting.open("b1", "p2", component=Component.PLATELETS)
    charting.issue("b1")
    charting.record(20, Returned(), "b1")
    hospital.clock.now = at(180)
    return hospital


def test_the_review_says_what_was_kept_and_how_sure_that_is(reviewed: Hospital) -> None:
    text = reviewed.visit(MANAGER).see(MARCH).text

    # Wilson's interval of 12 of 24, by Newcombe's formula: 0.314 to 0.686.
    assert "First check: 12 of 24 in time, 50 % (95 % interval 31 % to 69 %)." in text
    assert "In the days before, February 2026, none was owed." in text
    assert "25 units were issued: 24 started, 1 sent back unused." in text
    assert "Return to stock 1 1 0 0 too few 21 % to 100 % – – none" in text
    assert "First check 24 12 12 0 50 % 31 % to 69 % – 5 min, at most 5 min Look at 12" in text
    assert "Routine units begun at night: 0 %, 0 of 24" in text
    assert "Started late Own: 0 %, 0 of 24 (95 % interval 0 % to 14 %)" in text
    assert "Reassessed before the next unit of red cells Own: 1 of 1: too few to judge" in text
    assert "58 % (893 of 1534) of patients given red cells electively" in text


def test_it_leads_to_the_breaches_of_a_limit_and_to_where_the_same_days_are_told(
    reviewed: Hospital,
) -> None:
    page = reviewed.visit(MANAGER).see(f"{MARCH}&component=red_cells")

    period = "from=2026-03-01&to=2026-03-31"
    (narrowed,) = (href for href, text in page.links.items() if text == "Look at 12")
    asked = {"component=red_cells", "clock=first_check", *period.split("&")}
    assert (narrowed.partition("?")[0], {*narrowed.partition("?")[2].split("&")}) == (
        "/wards/w1/breaches",
        asked,
    )
    ways = {href: text for href, text in page.links.items() if text in WAYS}
    assert ways == {
        f"/wards/w1/breaches?{period}": "Breaches",
        f"/wards/w1/accounts?{period}": "Accounted for",
        f"/wards/w1/exports?{period}&what=rates&by=day&component=red_cells": "Take away as a file",
        "/wards/w1/replay": "Replay",
        "/wards/w1/breaches": "Breaches",
        "/wards/w1/accounts": "Accounted for",
    }
    listed = reviewed.visit(MANAGER).see(narrowed).text
    assert "12 breaches" in listed


WAYS = {"Breaches", "Accounted for", "Take away as a file", "Replay"}


def test_without_days_it_shows_twelve_weeks_up_to_today(reviewed: Hospital) -> None:
    page = reviewed.visit(MANAGER).see(HREF)

    form = page.form(HREF)
    assert (form.values["from"], form.values["to"]) == (["2025-12-15"], ["2026-03-03"])
    assert form.values["by"] == ["week"]
    assert "15 December 2025 to 3 March 2026" in page.text
    assert "One value shows no course" in page.text


SHOWN = {
    "clock=start": "Start: 24 of 24 in time, 100 %",
    "clock=set_change": "Giving set change: none was owed.",
    "component=platelets&clock=return": "Return to stock: 1 of 1 in time. That is too few",
    "component=plasma": "No limit fell into these days",
    "by=day": "First check: kept in time",
    "from=2026-02-01&to=2026-02-28": "No limit fell into these days",
    "clock=fate": "25 units were issued",
    "from=2026-03-03&to=2026-03-03": "All components, Tue 3 March 2026.",
    "from=2026-03-02&to=2026-03-08": "All components, 2 to 8 March 2026.",
    "from=2026-03-02&to=2026-05-08": "All components, 2 March to 8 May 2026.",
}
REFUSED = {
    "from=2026-03-03&to=2026-03-02": "to",
    "from=yesterday": "from",
    "to=9999-12-31": "to",
    "from=0001-01-01": "from",
    "from=2010-01-01": "to",
    "from=2024-01-01&by=day": "by",
    "by=fortnight": "by",
    "component=albumin": "component",
    "clock=late_watch": "clock",
}


def test_what_is_asked_for_is_shown_and_what_cannot_be_is_refused_by_its_field(
    reviewed: Hospital,
) -> None:
    manager = reviewed.visit(MANAGER)
    for query, said in SHOWN.items():
        days = "" if "from" in query else "from=2026-03-01&to=2026-03-31&"
        assert said in manager.see(f"{HREF}?{days}{query}").text, query
    for query, field in REFUSED.items():
        answer = manager.get(f"{HREF}?{query}")
        page = Page(answer.text)
        assert (query, answer.status_code, [*page.errors]) == (query, 422, [f"f-{field}"])
        typed = dict(one.split("=") for one in query.split("&"))
        kept = {name: [typed[name]] for name in ("from", "to") if name in typed}
        assert {name: page.form(HREF).values[name] for name in kept} == kept


def test_a_change_is_noted_flagged_and_withdrawn(reviewed: Hospital) -> None:
    manager = reviewed.visit(MANAGER)
    before = {"from": "2026-03-01", "to": "2026-03-31", "clock": "start", "by": "day"}
    asked = f"{MARCH}&clock=start&by=day"

    back = manager.done(asked, "change", day="2026-03-03", text="new porter round")

    page = manager.see(back)
    assert {name: page.form(HREF).values[name] for name in before} == {
        name: [value] for name, value in before.items()
    }
    assert "3 March 2026 : new porter round noted by Mona Manager" in page.text
    assert "¦ 3 Mar 2026: new porter round" in page.text
    assert manager.see(f"{asked}&anew=true").form(HREF).values["anew"] == ["true"]
    manager.done(back, "withdraw-1")
    page = manager.see(back)
    assert "noted by Mona Manager, withdrawn by Mona Manager" in page.text
    assert "¦ 3 Mar 2026" not in page.text


def test_limits_begin_anew_with_the_week_after_a_change_of_a_sunday(reviewed: Hospital) -> None:
    """The last value before it is of the week that it ended; later changes begin no limits yet."""
    manager = reviewed.visit(MANAGER)
    for day in ("2026-03-08", "2026-03-29"):
        manager.done(MARCH, "change", day=day, text=f"on {day}")
    asked = Asked(Days(date(2026, 2, 23), date(2026, 3, 29)), By.WEEK)
    with reviewed.store.read() as session:
        review = review_period(session, MANAGER, "w1", asked, now=reviewed.clock.now)

    course = course_view(review, Wanted(asked, ClockName.START, anew=True))

    weeks = [part.days.first for part in review.parts]
    assert weeks[2:] == [date(2026, 3, 9), date(2026, 3, 16), date(2026, 3, 23)]
    assert [(one.name, one.place) for one in course.changes] == [
        ("8 Mar 2026", 2),
        ("29 Mar 2026", 5),
    ]
    assert [one.x for one in course.kept.flags] == sorted(one.x for one in course.kept.flags)
    assert manager.get(f"{HREF}?from=2026-02-23&to=2026-03-29&by=week&anew=true").status_code == 200


def test_a_change_that_cannot_be_noted_says_why_and_loses_nothing(reviewed: Hospital) -> None:
    manager = reviewed.visit(MANAGER)

    answer = manager.send(MARCH, "change", day="soon", text="x" * 201)
    blank = manager.send(MARCH, "change", day="2026-03-03", text=" ")

    page = Page(answer.text)
    assert (answer.status_code, page.errors) == (
        422,
        {"change-day": "expected a date, for example 2026-11-25"},
    )
    assert page.form("change").values["text"] == ["x" * 201]
    assert page.form(HREF).values["from"] == ["2026-03-01"]
    assert Page(blank.text).errors == {"change-text": "nothing was entered; this is needed"}


def test_who_may_only_read_has_no_form_and_is_refused(reviewed: Hospital) -> None:
    reviewed.visit(CHARGE).done(MARCH, "change", day="2026-03-03", text="second trolley")
    for person in (NURSE, ADMINISTRATOR):
        visit = reviewed.visit(person)
        page = visit.see(MARCH)
        token = page.forms[0].values["csrf_token"]
        typed = {"csrf_token": token, "day": "2026-03-03", "text": "x"}

        answer = visit.post(f"{HREF}/changes", typed)

        assert "second trolley noted by Carl Charge" in page.text
        assert [form.key for form in page.forms if form.key in ("change", "withdraw-1")] == []
        assert answer.status_code == 403


def test_no_nurse_is_named_and_somebody_of_another_ward_sees_nothing(reviewed: Hospital) -> None:
    page = reviewed.visit(MANAGER).see(MARCH)

    assert [name for name in ("Nina", "Cleo", "Alder", "Birch") if name in page.text] == []
    assert reviewed.visit(OUTSIDER).get(MARCH).status_code == 403


def test_all_wards_of_a_person_stand_beside_each_other(reviewed: Hospital) -> None:
    with reviewed.store.write() as session:
        enter_staff(session, ADMINISTRATOR, staff_draft(BOTH), now=at(-200))
    reviewed.charting.open("w2", "p9", ward_id="w2")
    reviewed.charting.record(0, Issued(), "w2", actor=PROGRAM)
    both = reviewed.visit(BOTH)

    page = both.see("/review?from=2026-03-01&to=2026-03-31&clock=start")

    assert "Start: 24 of 25 in time, 96 %" in page.text
    assert "2 wards together" in page.text
    assert "Ward 1 24 of 24, 100 %" in page.text
    assert "Ward 2 1 owed" in page.text or "Ward 2 0 of 1" in page.text
    links = [href for href in page.links if href.startswith("/wards/w2/review?")]
    assert len(links) == 1
    assert "Start: 0 of 1 in time. That is too few to judge by." in both.see(links[0]).text
    assert both.see(HREF).links["/review"] == "All my wards"


def test_who_has_one_ward_is_sent_to_it(hospital: Hospital) -> None:
    answer = hospital.visit(OUTSIDER).get("/review")

    assert (answer.status_code, answer.headers["location"]) == (303, "/wards/w2/review")
