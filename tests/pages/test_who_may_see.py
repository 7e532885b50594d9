"""Every page for every role, here and elsewhere; every form with and without its token."""

from collections.abc import Iterator
from typing import Any

import pytest

from server.pages import SCREENS
from server.services.actor import Actor
from tests.domain.builders import at
from tests.pages.hospital import Hospital
from tests.pages.reading import Page
from tests.services.mail import enter
from tests.services.people import (
    ADMINISTRATOR,
    CHARGE,
    MANAGER,
    NURSE,
    OUTSIDE_CHARGE,
    OUTSIDER,
)

EVERYBODY = (NURSE, CHARGE, MANAGER, ADMINISTRATOR, OUTSIDER, OUTSIDE_CHARGE)
ALL_OF_WARD = frozenset({"nurse-1", "charge-1", "manager-1", "admin"})
CHARGE_ONLY = frozenset({"charge-1"})
REVIEWERS = frozenset({"charge-1", "manager-1"})
NURSES = frozenset({"nurse-1", "charge-1", "nurse-9", "charge-9"})
PLANNERS = frozenset({"charge-1", "admin"})
SET_UP = frozenset({"admin"})
AUDITORS = frozenset({"manager-1", "admin"})
ANYBODY = frozenset(person.id for person in EVERYBODY)
ORDERERS = frozenset({"charge-1", "charge-9"})

PAGES: dict[str, frozenset[str]] = {
    "/wards/w1/board": ALL_OF_WARD,
    "/wards/w1/board/rows": ALL_OF_WARD,
    "/wards/w1/sheet": ALL_OF_WARD,
    "/wards/w1/replay": ALL_OF_WARD,
    "/wards/w1/replay?at=2026-03-03T10:00:00Z&view=list&nurse=nurse-1": ALL_OF_WARD,
    "/episodes/e1": ALL_OF_WARD,
    "/episodes/e1?at=2026-03-03T10:00:00Z&known_at=2026-03-03T10:00:00Z": ALL_OF_WARD,
    "/episodes/e1/breaches/first_check/1": ALL_OF_WARD,
    "/episodes/e1/standing": ALL_OF_WARD,
    "/episodes/e1/record": ALL_OF_WARD,
    "/episodes/e1/record?at=2026-03-03T10:00:00Z": ALL_OF_WARD,
    "/episodes/e1/identity": ALL_OF_WARD,
    "/wards/w1/reminders": ALL_OF_WARD,
    "/mine": NURSES,
    "/mine/due": NURSES,
    "/mine/take-over": NURSES,
    "/mine?nurse=nurse-1": frozenset({"nurse-1", "charge-1"}),
    "/mine/units/e1": frozenset({"nurse-1", "charge-1"}),
    "/wards/w1/cover": ALL_OF_WARD,
    "/wards/w1/cover/strip": ALL_OF_WARD,
    "/wards/w1/plan": ALL_OF_WARD,
    "/wards/w1/plan/strip": ALL_OF_WARD,
    "/wards/w1/review": ALL_OF_WARD,
    "/wards/w1/breaches": ALL_OF_WARD,
    "/wards/w1/alarm-load": REVIEWERS,
    "/wards/w1/accounts": ALL_OF_WARD,
    "/wards/w1/exports": frozenset({"charge-1", "manager-1", "admin"}),
    "/wards/w1/report": frozenset({"charge-1", "manager-1", "admin"}),
    "/wards/w1/orders": ALL_OF_WARD,
    "/wards/w1/orders/new": CHARGE_ONLY,
    "/wards/w1/staff": ALL_OF_WARD,
    "/wards/w1/staff/new": SET_UP,
    "/wards/w1/staff/nurse-1": SET_UP,
    "/wards/w1/staff/nurse-1/badge": PLANNERS,
    "/my-sign-in": ANYBODY,
    "/my-sign-in/second-factor": ANYBODY,
    "/tokens": SET_UP,
    "/tokens/new": SET_UP,
    "/program": SET_UP,
    "/wards/w1/shifts": ALL_OF_WARD,
    "/wards/w1/shifts/new": PLANNERS,
    "/wards/w1/wall-links": PLANNERS,
    "/wards/w1/webhooks": PLANNERS,
    "/wards/w1/webhooks/strip": PLANNERS,
    "/wards/w1/webhooks/new": SET_UP,
    "/wards/w1/webhooks/pager": PLANNERS,
    "/wards/w1/webhooks/pager/messages": PLANNERS,
    "/wards/w1/webhooks/pager/change": SET_UP,
    "/wards/w1/settings": SET_UP,
    "/wards": ANYBODY,
    "/wards/new": SET_UP,
    "/policies": ANYBODY,
    "/policies/common": ANYBODY,
    "/audit": AUDITORS,
    "/patients": ANYBODY,
    "/patients/new": ORDERERS,
    "/patients/p1": CHARGE_ONLY,
}


def with_a_unit(hospital: Hospital) -> Hospital:
    """Unit `e1` of Ida Alder runs on ward `w1`, which has a webhook; nobody else has one."""
    enter(hospital.store)
    hospital.charting.run()
    hospital.charting.tick(at(40))
    hospital.clock.now = at(40)
    return hospital


@pytest.mark.parametrize("person", EVERYBODY, ids=lambda person: person.id)
def test_a_page_opens_for_those_who_may_and_for_nobody_else(
    hospital: Hospital, person: Actor
) -> None:
    browser = with_a_unit(hospital).visit(person)

    answers = {path: browser.get(path) for path in PAGES}

    opened = {path for path, answer in answers.items() if answer.status_code == 200}
    assert opened == {path for path, people in PAGES.items() if person.id in people}
    assert {a.status_code for p, a in answers.items() if p not in opened} <= {403}


@pytest.mark.parametrize("person", [OUTSIDER, OUTSIDE_CHARGE], ids=lambda person: person.id)
def test_somebody_from_another_ward_reads_no_name_of_this_one(
    hospital: Hospital, person: Actor
) -> None:
    browser = with_a_unit(hospital).visit(person)

    leaks = [path for path in PAGES if "Alder" in browser.get(path).text]

    assert leaks == []


def test_nobody_is_sent_to_sign_in_from_every_page(hospital: Hospital) -> None:
    nobody = with_a_unit(hospital).visit()

    answers = {path: nobody.get(path) for path in PAGES}

    expected = {path: 401 if path.endswith("/rows") else 303 for path in PAGES}
    assert {path: answer.status_code for path, answer in answers.items()} == expected
    assert all("Alder" not in answer.text for answer in answers.values())


def test_every_page_names_itself_and_its_language(hospital: Hospital) -> None:
    charge, admin = with_a_unit(hospital).visit(CHARGE), hospital.visit(ADMINISTRATOR)
    parts = ("/rows", "/standing", "/due", "/strip", "/messages")
    whole = [path for path in PAGES if not path.endswith(parts)]

    for path in whole:
        browser = charge if "charge-1" in PAGES[path] else admin
        html = browser.get(path).text
        title = html.partition("<title>")[2].partition("</title>")[0]
        assert '<html lang="en"' in html, path
        assert len(title.strip()) > 4, path
        assert html.count("<h1") == 1, path
        assert "It is not a medical device." in html, path


@pytest.mark.parametrize(
    "path",
    ["/episodes/none", "/wards/none/board", "/wards/none/orders", "/patients/none",
     "/policies/none", "/wall/none", "/wall/none/stream", "/wards/w1/orders/none/change",
     "/wards/w1/shifts/none", "/nothing"],
)  # fmt: skip
def test_what_is_not_there_is_a_page_that_says_so(hospital: Hospital, path: str) -> None:
    answer = hospital.visit(CHARGE).get(path, accept="text/html")

    assert answer.status_code in (403, 404)
    assert path.startswith("/wall/none/s") or "<h1>" in answer.text


def posts() -> Iterator[str]:
    """The address of every form of the pages, with things that exist in it."""
    known = {
        "/second-factor/{act}": "/second-factor/begin",
        "{ward_id}": "w1",
        "{episode_id}": "e1",
        "{patient_id}": "p1",
        "{staff_id}": "nurse-1",
        "{shift_id}": "s1",
        "{order_id}": "o1",
        "{link_id}": "l1",
        "{session_id}": "x1",
        "{webhook_id}": "pager",
        "{message_id}": "m1",
        "{act}": "pause",
        "{change_id}": "none",
        "{clock}": "first_check",
        "{n}": "1",
    }
    for screen in SCREENS:
        for route in screen.router.routes:
            if "POST" in (getattr(route, "methods", None) or ()):
                path = str(route.path)
                for name, value in known.items():
                    path = path.replace(name, value)
                yield path


NOTHING_THERE = {
    # Without a provider of sign-ins; with one, tests/pages/test_sso_links.py and _refusals.py.
    "/sign-in/elsewhere": 404,
    "/my-sign-in/account": 404,
    "/wards/w1/staff/nurse-1/account": 404,
    "/wards/w1/staff/nurse-1/account/undo": 404,
    # Nobody gave a password yet; then tests/pages/test_second_factor.py.
    "/sign-in/code": 303,
}


@pytest.mark.parametrize("token", ["", "0" * 64, "é"], ids=["none", "wrong", "odd"])
def test_a_form_without_its_token_is_refused_and_nothing_stored(
    hospital: Hospital, token: str
) -> None:
    prepare(hospital)
    admin, charge = hospital.visit(ADMINISTRATOR), hospital.visit(CHARGE)
    before = hospital.charting.everything()
    values: dict[str, Any] = {"csrf_token": token, "kind": "note", "text": "x", "remove": "true"}

    answers = {
        path: (admin if path.startswith("/wards") else charge).post(path, values).status_code
        for path in posts()
    }

    assert {path: status for path, status in answers.items() if status != 403} == NOTHING_THERE
    assert len(answers) > 50
    assert hospital.charting.everything() == before


def prepare(hospital: Hospital) -> None:
    """A unit, an order and a shift, so that every form has something to change."""
    charge = with_a_unit(hospital).visit(CHARGE)
    order = {"patient_id": "p1", "bed": "4", "component": "plasma", "units": "1"}
    charge.done("/wards/w1/orders/new", "/wards/w1/orders", **order)
    shift = {"starts_at_time": "07:30", "starts_at_date": "2026-03-03", "ends_at_time": "19:30"}
    charge.done("/wards/w1/shifts/new", "/wards/w1/shifts", staff_id="nurse-1", **shift)


def test_a_token_is_of_one_session_only(hospital: Hospital) -> None:
    with_a_unit(hospital)
    other = hospital.visit(NURSE).see("/episodes/e1").forms[0].values["csrf_token"]
    nurse = hospital.visit(NURSE)

    answer = nurse.send("/episodes/e1", "record-note", text="kept", csrf_token=other)

    page = Page(answer.text)
    form = page.form("record-note")
    assert (answer.status_code, form.values["text"]) == (403, ["kept"])
    assert "you have signed in again since this form was opened" in page.text
    assert nurse.post(form.action, form.filled({})).status_code == 303
