"""Every route says what it shows of patients, and who looked is in the audit trail."""

from collections.abc import Iterator
from types import ModuleType
from typing import Final

import pytest
from starlette.routing import BaseRoute, Route

import server.api.router
from server.domain.words import Role
from server.pages import SCREENS
from server.services.actor import Actor
from server.services.shown import SHOWN, Shows, shown_by
from server.services.tokens import make_token
from tests.domain.builders import at
from tests.pages.hospital import Hospital
from tests.pages.test_who_may_see import PAGES, with_a_unit
from tests.services.people import ADMINISTRATOR, CHARGE, EVERYBODY, MANAGER, NURSE, OUTSIDER
from tests.services.trail import NO_SPACE, SPACE, links, run_plainly, said

NAMES: Final = ("actor_id", "subject_kind", "subject_id", "ward_id", "patient_id")
PROGRAMS: Final = (
    "/api/wards",
    "/api/staff?ward_id=w1",
    "/api/patients/p1",
    "/api/orders?ward_id=w1",
    "/api/episodes/e1",
    "/api/board?ward_id=w1",
    "/api/due?ward_id=w1",
    "/api/reminders?ward_id=w1",
    "/api/breaches?ward_id=w1",
    "/api/cover?ward_id=w1",
    "/api/policies",
)
PATIENTS_OWN: Final = ("Alder", "T000001", '"patient_id":"p1"')


def looks() -> Iterator[Route]:
    """Every route of pages and interface that answers a look."""
    listed: list[BaseRoute] = [route for screen in SCREENS for route in screen.router.routes]
    for resource in vars(server.api.router).values():
        if isinstance(resource, ModuleType) and hasattr(resource, "router"):
            listed += resource.router.routes
    for route in listed:
        assert isinstance(route, Route)
        if "GET" in (route.methods or ()):
            yield route


def shown_at(path: str) -> Shows | None:
    """What the route at an address says that it shows."""
    plain = path.partition("?")[0].removeprefix("/api") if path.startswith("/api") else path
    of_interface = path.startswith("/api")
    for route in looks():
        is_interface = route.endpoint.__module__.startswith("server.api")
        if is_interface is of_interface and route.path_regex.fullmatch(plain.partition("?")[0]):
            return shown_by(route.endpoint)
    raise AssertionError(path)


def looked(hospital: Hospital, person: Actor, *paths: str) -> list[tuple[object, ...]]:
    """What is noted of somebody who opens pages one after the other."""
    browser, before = hospital.visit(person), len(links(hospital.store))
    for path in paths:
        browser.get(path)
    rows = said(hospital.store, "act", *NAMES, after=before)
    return [tuple(row) for act, *row in rows if act == "viewed"]


def test_every_route_that_answers_a_look_says_what_it_shows() -> None:
    """A new route stands here until it says `shows(…)` or `shows_no_patient`."""
    silent = [route.path for route in looks() if not hasattr(route.endpoint, SHOWN)]

    assert (silent, sum(1 for _ in looks()) > 50) == ([], True)


def test_a_page_that_shows_a_patient_says_so(hospital: Hospital) -> None:
    with_a_unit(hospital)
    people = {person.id: hospital.visit(person) for person in EVERYBODY}
    denied = []
    for path, allowed in PAGES.items():
        text = people[min(allowed)].get(path).text
        if any(own in text for own in PATIENTS_OWN) and shown_at(path) is None:
            denied.append(path)

    assert denied == []


def test_an_answer_to_a_program_that_shows_a_patient_says_so(hospital: Hospital) -> None:
    with_a_unit(hospital)
    with hospital.store.write() as session:
        secret = make_token(session, "Lab", Role.INTERFACE, ["w1"], now=at(0))
    header = {"Authorization": f"Bearer {secret}"}
    texts = {path: hospital.client.get(path, headers=header).text for path in PROGRAMS}

    with_patient = {p for p, text in texts.items() if any(own in text for own in PATIENTS_OWN)}
    noted = said(hospital.store, "act", "actor_name", "subject_kind", "subject_id", "patient_id")
    assert {path for path in with_patient if shown_at(path) is None} == set()
    assert {row[2:] for row in noted if row[:2] == ("viewed", "Lab")} == {
        ("patient", "p1", "p1"),
        ("orders", None, None),
        ("episode", "e1", "p1"),
        ("board", None, None),
        ("reminders", None, None),
        ("breaches", None, None),
        ("cover", None, None),
    }


def test_who_saw_what_stands_in_the_trail(hospital: Hospital) -> None:
    with_a_unit(hospital)

    seen = looked(
        hospital,
        CHARGE,
        "/wards/w1/board",
        "/episodes/e1",
        "/episodes/e1/identity",
        "/patients/p1",
        "/patients",
        "/wards/w1/orders",
        "/wards/w1/reminders",
        "/mine",
    )

    assert seen == [
        ("charge-1", "board", None, "w1", None),
        ("charge-1", "episode", "e1", "w1", "p1"),
        ("charge-1", "identity", "e1", "w1", "p1"),
        ("charge-1", "patient", "p1", "w1", "p1"),
        ("charge-1", "patients", None, None, None),
        ("charge-1", "orders", None, "w1", None),
        ("charge-1", "reminders", None, "w1", None),
        ("charge-1", "own_list", None, None, None),
    ]


def test_what_refreshes_itself_counts_once_in_a_quarter_of_an_hour(hospital: Hospital) -> None:
    with_a_unit(hospital)
    again = ("/wards/w1/board", "/wards/w1/board/rows", "/episodes/e1", "/episodes/e1/standing")
    board, unit = ("nurse-1", "board", None, "w1", None), ("nurse-1", "episode", "e1", "w1", "p1")

    first = looked(hospital, NURSE, *again, *again)
    hospital.clock.now = at(46)
    later = looked(hospital, NURSE, *again)

    assert (first, later) == ([board, unit], [board, unit])


@pytest.mark.parametrize(
    ("person", "path"),
    [
        (OUTSIDER, "/episodes/e1"),
        (OUTSIDER, "/wards/w1/board"),
        (NURSE, "/episodes/none"),
        (MANAGER, "/wards"),
        (ADMINISTRATOR, "/policies"),
    ],
    ids=str,
)
def test_what_was_refused_or_shows_no_patient_is_no_look(
    hospital: Hospital, person: Actor, path: str
) -> None:
    assert looked(with_a_unit(hospital), person, path) == []


def test_nobody_is_kept_from_a_patient_by_a_trail_that_cannot_be_written(
    hospital: Hospital, caplog: pytest.LogCaptureFixture
) -> None:
    with_a_unit(hospital)
    nurse = hospital.visit(NURSE)
    run_plainly(hospital.store, NO_SPACE)
    before = len(links(hospital.store))
    answer = nurse.get("/episodes/e1")
    told = [record.message for record in caplog.records]
    run_plainly(hospital.store, SPACE)

    nurse.get("/wards/w1/board")

    assert (answer.status_code, "Alder" in answer.text) == (200, True)
    assert told == ["THE AUDIT TRAIL CANNOT BE WRITTEN: 1 looks wait"]
    assert said(hospital.store, "act", "subject_kind", after=before) == [
        ("viewed", "episode"),
        ("viewed", "board"),
        ("views_late", None),
    ]
