"""No page, fragment or stream without somebody who is refused: asked of the route table itself."""

from collections.abc import Iterator
from typing import Any

import pytest

from server.pages import SCREENS
from server.services.actor import Actor
from tests.pages.hospital import Hospital
from tests.pages.test_who_may_see import ALL_OF_WARD, EVERYBODY, PAGES, prepare
from tests.services.people import CHARGE, OUTSIDE_CHARGE, OUTSIDER

FRAGMENTS = {
    "/episodes/e1/reaction": ALL_OF_WARD,
    "/episodes/e1/reaction/standing": ALL_OF_WARD,
    # Leads on to the check where nobody waits; that it does so tells nobody else anything.
    "/episodes/e1/identity/waiting": ALL_OF_WARD,
    "/wards/w1/orders/{order}/change": frozenset({"charge-1"}),
    "/wards/w1/plan/day": ALL_OF_WARD,
    # Without a provider of sign-ins whoever may link accounts is told so: tests/pages/test_sso.py
    "/wards/w1/staff/nurse-1/account": frozenset({"admin"}),
    # There is no such token: whoever may take one back is told so.
    "/tokens/none/take-back": frozenset({"admin"}),
    # There is no such run: whoever may follow one is told so.
    "/wards/w1/plan/run?run=none": frozenset({"charge-1"}),
}
STREAMS = ("/wards/w1/board/stream", "/wards/w1/changes")
FOR_ALL = {
    "/": "leads on",
    "/board": "leads on",
    "/breaches": "leads on",
    "/replay": "leads on",
    "/review": "those of one's own wards; tests/pages/test_review_page.py",
    "/compatibility": "the site's own table; holds no patient",
    "/identity-checks": "those of one's own wards; tests/pages/test_identity_stops.py",
    "/unsent": "what one left oneself; tests/pages/test_shared_device.py",
    "/sign-in": "before anybody has signed in",
    "/sign-in/code": "before anybody has signed in; tests/pages/test_second_factor.py",
    "/sign-in/back": "before anybody has signed in; tests/pages/test_sso.py",
    "/who": "says whether somebody has",
    "/locked": "before the screen is unlocked",
    "/wall/none": "by its secret alone; tests/pages/test_live_boards.py",
    "/wall/none/rows": "by its secret alone",
    "/wall/none/stream": "by its secret alone",
}
TRIED = (*PAGES, *FRAGMENTS, *STREAMS, *FOR_ALL)


def routes() -> Iterator[Any]:
    """Every route of the pages that is asked with GET; one of no methods is asked with all."""
    for screen in SCREENS:
        for route in screen.router.routes:
            if "GET" in (getattr(route, "methods", None) or {"GET"}):
                yield route


def test_every_page_fragment_and_stream_is_tried() -> None:
    paths = [address.partition("?")[0] for address in TRIED]

    untried = [
        route.path
        for route in routes()
        if not any(route.path_regex.fullmatch(path) for path in paths)
    ]

    assert untried == []


def test_every_address_that_is_tried_is_a_route() -> None:
    known = [route.path_regex for route in routes()]

    assert [
        address
        for address in TRIED
        if not any(pattern.fullmatch(address.partition("?")[0]) for pattern in known)
    ] == []


@pytest.mark.parametrize("person", EVERYBODY, ids=lambda one: one.id)
def test_a_fragment_is_for_those_who_may_see_its_page(hospital: Hospital, person: Actor) -> None:
    prepare(hospital)
    links = hospital.visit(CHARGE).see("/wards/w1/orders").links
    change = next(href for href in links if href.endswith("/change"))
    browser = hospital.visit(person)

    for address, people in FRAGMENTS.items():
        answer = browser.get(change if "{order}" in address else address)

        allowed = answer.status_code in (200, 303, 404)
        assert (address, allowed) == (address, person.id in people), answer.status_code
        assert allowed or (answer.status_code, "Alder" in answer.text) == (403, False)


@pytest.mark.parametrize("address", STREAMS)
def test_a_stream_is_opened_for_nobody_else(hospital: Hospital, address: str) -> None:
    """Whom it is opened for, tests/pages/test_live_boards.py and test_mine.py follow."""
    prepare(hospital)
    refused = (None, OUTSIDER, OUTSIDE_CHARGE)

    answers = [hospital.visit(person).get(address) for person in refused]

    assert {answer.status_code for answer in answers} <= {303, 401, 403}
    assert all("event-stream" not in one.headers.get("content-type", "") for one in answers)
    assert all("Alder" not in answer.text for answer in answers)
