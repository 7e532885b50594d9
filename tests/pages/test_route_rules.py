"""Every route of the pages asked by whoever must be refused; the routes and rules are one table."""

from datetime import timedelta
from typing import Final

import pytest

from server.services.lock_session import lock
from server.services.sign_in import sign_out
from tests.pages.hospital import Hospital
from tests.pages.route_rules import RULES, Anybody, Own, Rule, Ward
from tests.pages.route_stage import OUTSIDE_ADMIN, OUTSIDE_MANAGER, Stage, set_stage
from tests.services.people import (
    ADMINISTRATOR,
    CHARGE,
    MANAGER,
    NURSE,
    OUTSIDE_CHARGE,
    OUTSIDER,
)

OF_WARD: Final = {route: rule for route, rule in RULES.items() if isinstance(rule, Ward)}
OF_PEOPLE: Final = {
    route: rule for route, rule in RULES.items() if isinstance(rule, Ward | Own | Anybody)
}
FORMS: Final = {route: rule for route, rule in OF_PEOPLE.items() if route.startswith("POST")}
STRANGERS: Final = (OUTSIDER, OUTSIDE_CHARGE, OUTSIDE_MANAGER, OUTSIDE_ADMIN)
OF_THE_WARD: Final = (NURSE, CHARGE, MANAGER, ADMINISTRATOR)
STREAMS: Final = ("/stream", "/changes")
REFUSED: Final = 403
# What a page asks by itself is told in figures; a person is led to the page that helps.
NOT_SIGNED_IN: Final = {303, 401, 403}
LOCKED: Final = {303, 423}
# Handing in what was typed is open to a locked session: it opens nothing.
FOR_LOCKED: Final = {"POST /unsent"}
# A stream has no page to lead to.
REFUSED_STREAM: Final = {401, 403}


# What a press records is asked of the unit before the role is: a running one offers none.
ASKED_LATE: Final = {"POST /episodes/{episode_id}/press": 422}


@pytest.fixture
def stage(hospital: Hospital) -> Stage:
    """One of everything on `w1`."""
    return set_stage(hospital)


def is_ward_only(route: str, rule: Rule) -> bool:
    """Whether the ward alone is named, so that the same address of `w2` is the stranger's own."""
    return isinstance(rule, Ward) and route.count("{") == 1 and "{ward_id}" in route


def test_nobody_and_a_session_that_ended_or_is_locked_reach_nothing(stage: Stage) -> None:
    hospital = stage.hospital
    ended, locked, old = (hospital.secret_of(CHARGE) for _ in range(3))
    with hospital.store.write() as session:
        sign_out(session, ended, now=hospital.clock.now)
        lock(session, locked, now=hospital.clock.now)
    before = hospital.charting.everything()
    wrong = {}

    for name, secret, expected in (
        ("nobody", "", NOT_SIGNED_IN),
        ("ended", ended, NOT_SIGNED_IN),
        ("made up", "x" * 43, NOT_SIGNED_IN),
        ("locked", locked, LOCKED),
    ):
        for route, rule in OF_PEOPLE.items():
            if name == "locked" and route in FOR_LOCKED:
                continue
            answer = stage.ask(stage.browser(secret), route, rule)
            if answer.status_code not in expected or "Alder" in answer.text:
                wrong[name, route] = answer.status_code

    hospital.clock.now += timedelta(hours=14)
    late = {
        route: stage.ask(stage.browser(old), route, rule).status_code
        for route, rule in FORMS.items()
    }
    assert wrong == {}
    assert {route: status for route, status in late.items() if status not in NOT_SIGNED_IN} == {}
    assert hospital.charting.everything() == before


def test_what_is_of_a_ward_is_closed_to_every_role_of_another(stage: Stage) -> None:
    browsers = stage.browsers(*STRANGERS)
    before = stage.hospital.charting.everything()
    wrong = {}

    for route, rule in OF_WARD.items():
        for person, browser in browsers.items():
            answer = stage.ask(browser, route, rule)
            expected = REFUSED_STREAM if route.endswith(STREAMS) else {REFUSED}
            if answer.status_code not in expected or "Alder" in answer.text:
                wrong[person, route] = answer.status_code

    assert wrong == {}
    assert stage.hospital.charting.everything() == before


def test_under_ones_own_ward_nothing_of_another_is_reached(stage: Stage) -> None:
    """The ward of the address is the stranger's, what else it names is of `w1`."""
    browsers = stage.browsers(*STRANGERS)
    before = stage.hospital.charting.everything()
    mixed = {
        route: rule
        for route, rule in OF_WARD.items()
        if "{ward_id}" in route and not is_ward_only(route, rule)
    }
    wrong = {}

    for route, rule in mixed.items():
        for person, browser in browsers.items():
            answer = stage.ask(browser, route, rule, ward_id="w2")
            if answer.status_code not in (REFUSED, 404) or "Alder" in answer.text:
                wrong[person, route] = answer.status_code

    assert wrong == {}
    assert stage.hospital.charting.everything() == before


def test_a_role_of_the_ward_without_the_right_is_refused_every_form(stage: Stage) -> None:
    browsers = {person.role: stage.browsers(person)[person.id] for person in OF_THE_WARD}
    before = stage.hospital.charting.everything()
    wrong = {}

    for route, rule in OF_PEOPLE.items():
        for role in browsers.keys() - rule.roles:
            answer = stage.ask(browsers[role], route, rule)
            if answer.status_code != ASKED_LATE.get(route, REFUSED):
                wrong[role.value, route] = answer.status_code

    assert wrong == {}
    assert stage.hospital.charting.everything() == before


def test_a_role_with_the_right_is_not_refused(stage: Stage) -> None:
    """So that a rule which names too few is noticed; streams are followed elsewhere."""
    people = {person.role: person for person in OF_THE_WARD}
    wrong = {}

    for route, rule in OF_PEOPLE.items():
        if route.endswith(STREAMS):
            continue
        for role in rule.roles:
            browser = stage.browsers(people[role])[people[role].id]
            answer = stage.ask(browser, route, rule)
            if answer.status_code in (401, REFUSED, 423, 500):
                wrong[role.value, route] = answer.status_code

    assert wrong == {}


def test_a_session_of_somebody_else_is_as_one_that_is_not(stage: Stage) -> None:
    browser = stage.browsers(OUTSIDE_ADMIN)[OUTSIDE_ADMIN.id]
    route = "POST /my-sign-in/sessions/{session_id}/end"

    theirs, none = (
        stage.ask(browser, route, RULES[route], session_id=one)
        for one in (stage.ids["session_id"], "none")
    )

    assert (theirs.status_code, none.status_code) == (404, 404)
    texts = [one.text.replace(one.headers["x-request-id"], "") for one in (theirs, none)]
    assert texts[0] == texts[1]
