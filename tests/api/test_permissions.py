"""Every route with somebody who may and somebody who must be refused; nothing leaks."""

import re
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path
from typing import Any, Final, NamedTuple

import pytest

from server.domain.cover import Cover
from server.domain.words import Role
from server.store.covers import add_cover
from server.store.plans import add_plan
from tests.api.board_api import FULL_SET, NOON, PATIENT, BoardApi, problem_of
from tests.api.conftest import opened_api
from tests.domain.planning import an_empty_plan

ALL: Final = frozenset(Role)
NURSES: Final = frozenset({Role.BEDSIDE_NURSE, Role.CHARGE_NURSE})
CHARTING: Final = NURSES | {Role.INTERFACE}
ORDERING: Final = frozenset({Role.CHARGE_NURSE, Role.INTERFACE})
SET_UP: Final = frozenset({Role.ADMINISTRATOR})
REVIEWING: Final = frozenset({Role.CHARGE_NURSE, Role.MANAGER})
AUDITING: Final = frozenset({Role.MANAGER, Role.ADMINISTRATOR})
AT: Final = f"{NOON:%Y-%m-%dT%H:%M:%SZ}"
THEN: Final = "2026-03-03T13:00:00Z"


class Route(NamedTuple):
    """A request, which roles may send it, and whether it is about ward `w1`."""

    method: str
    path: str
    roles: frozenset[Role]
    of_ward: bool = True
    body: dict[str, Any] | None = None


WARD: Final = {"name": "New", "policy": "common", "timezone": "UTC"}
STAFF: Final = {"name": "N", "role": "bedside_nurse", "wards": ["w1"]}
SHIFT: Final = {
    "staff_id": "n1",
    "ward_id": "w1",
    "starts_at": AT,
    "ends_at": "2026-03-03T20:00:00Z",
}
UNIT: Final = {"patient_id": "p1", "ward_id": "w1", "bed": "1", "component": "red_cells"}
OBSERVED: Final = {"happened_at": AT, **FULL_SET}
NOTE: Final = {"kind": "note", "happened_at": AT, "text": "a"}
CAUSE: Final = {"kind": "cause_given", "happened_at": AT, "clock": "start", "cause": "a"}
COVER: Final = {
    "ward_id": "w1",
    "covering_id": "m1",
    "covered_id": "n1",
    "until_at": "2026-03-03T12:30:00Z",
}
WEBHOOK: Final = {
    "id": "hook",
    "name": "Pagers",
    "address": "https://pager.example/in",
    "stages": ["overdue"],
    "wards": ["w1"],
}
PLAN: Final = {"ward_id": "w1", "from": AT, "horizon_minutes": 240, "seconds": 0.5}
ROUTES: Final = (
    Route("POST", "/api/wards", SET_UP, of_ward=False, body=WARD),
    Route("POST", "/api/wards", SET_UP, body={**WARD, "id": "w1"}),
    Route("POST", "/api/staff", SET_UP, body=STAFF),
    Route("POST", "/api/shifts", SET_UP | {Role.CHARGE_NURSE}, body=SHIFT),
    Route("POST", "/api/cover", frozenset({Role.CHARGE_NURSE}), body=COVER),
    Route("POST", "/api/cover/c1/end", frozenset({Role.CHARGE_NURSE})),
    Route("POST", "/api/patients", ORDERING, body={"id": "p1", **PATIENT}),
    Route("POST", "/api/patients/p1/observations", CHARTING, body=OBSERVED),
    Route("POST", "/api/orders", ORDERING, body={**UNIT, "units": 1, "urgency": "urgent"}),
    Route("POST", "/api/episodes", ORDERING, body={**UNIT, "volume_ml": 280}),
    Route("POST", "/api/episodes/e1/events", CHARTING, body=NOTE),
    Route("POST", "/api/episodes/e1/events", CHARTING | {Role.MANAGER}, body=CAUSE),
    Route("POST", "/api/labels", ALL, body={"scan": "=%5100", "ward_id": "w1"}),
    Route("GET", "/api/wards", ALL, of_ward=False),
    Route("GET", "/api/policies", ALL, of_ward=False),
    Route("GET", "/api/policies/common", ALL, of_ward=False),
    Route("GET", "/api/staff", ALL, of_ward=False),
    Route("GET", "/api/staff?ward_id=w1", ALL),
    Route("GET", f"/api/shifts?ward_id=w1&from={AT}&to={AT}", ALL),
    Route("GET", "/api/cover?ward_id=w1", ALL),
    Route("POST", "/api/patients/search", ALL, of_ward=False, body={"text": "Alder"}),
    Route("GET", "/api/patients/p1", ALL),
    Route("GET", "/api/orders?ward_id=w1", ALL),
    Route("GET", "/api/episodes/e1", ALL),
    Route("GET", "/api/episodes/e1/breaches/start/1/why", ALL),
    Route("GET", "/api/board?ward_id=w1", ALL),
    Route("GET", "/api/due?ward_id=w1", ALL),
    Route("GET", "/api/reminders?ward_id=w1", ALL),
    Route("GET", "/api/breaches?ward_id=w1", ALL),
    Route("GET", f"/api/review?ward_id=w1&from={AT}&to={THEN}", ALL),
    Route("GET", "/api/workload?ward_id=w1", ALL),
    Route("POST", "/api/plans", frozenset({Role.CHARGE_NURSE}), body=PLAN),
    Route("GET", "/api/plans/plan", ALL),
    Route("POST", "/api/plans/plan/accept", frozenset({Role.CHARGE_NURSE})),
    Route("POST", "/api/plans/old/discard", frozenset({Role.CHARGE_NURSE})),
    Route("POST", "/api/webhooks", SET_UP, body=WEBHOOK),
    Route("POST", "/api/webhooks/hook/state", SET_UP, body={"state": "on"}),
    Route("POST", "/api/webhooks/hook/secret", SET_UP, body={}),
    Route("POST", "/api/webhooks/hook/messages", SET_UP, body={"ward_id": "w1"}),
    Route("GET", "/api/webhooks?ward_id=w1", SET_UP | {Role.CHARGE_NURSE}),
    Route("GET", "/api/webhooks/hook/messages", SET_UP | {Role.CHARGE_NURSE}),
    Route("GET", "/api/audit", AUDITING, of_ward=False),
    Route("GET", "/api/audit?ward_id=w1", AUDITING),
    Route("GET", f"/api/reminders/load?ward_id=w1&from={AT}&to={THEN}", REVIEWING),
    Route("GET", "/metrics", SET_UP | {Role.INTERFACE}, of_ward=False),
)
STREAM: Final = Route("GET", "/api/stream?ward_id=w1", ALL)
ASKED: Final = (*ROUTES, STREAM)
OPEN: Final = {"/healthz", "/readyz"}
ONE: Final = re.compile("/(p1|e1|c1|common|hook|plan|old)(?=/|$)")


@pytest.fixture(scope="module")
def board(sqlite_template: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[BoardApi]:
    """Two wards, each with an episode and a nurse."""
    with opened_api(sqlite_template, tmp_path_factory.mktemp("roles")) as opened:
        for number in ("1", "2"):
            opened.ward(f"w{number}")
            opened.episode(number, f"w{number}")
            nurse = {"id": f"n{number}", **STAFF, "wards": [f"w{number}"]}
            opened.made("/api/staff", nurse, "administrator")
        opened.record("e1", "issued", NOON)
        opened.made("/api/staff", {"id": "m1", **STAFF}, "administrator")
        opened.made("/api/webhooks", WEBHOOK, "administrator")
        later = (NOON + timedelta(hours=1), NOON + timedelta(hours=2))
        with opened.store.write() as session:
            add_cover(session, Cover("c1", "w1", "n1", "m1", *later, NOON, "m1"))
            for plan_id in ("plan", "old"):
                add_plan(session, an_empty_plan(plan_id, "w1", NOON))
        yield opened


def ask(board: BoardApi, route: Route, headers: dict[str, str]) -> Any:
    """Send the request with these headers."""
    return board.client.request(route.method, route.path, json=route.body, headers=headers)


def name_of(route: Route) -> str:
    """The route as a test is named after it."""
    told = route.body or {}
    return f"{route.method} {route.path} {told.get('kind') or told.get('id', '')}".strip()


def test_every_route_of_the_document_is_tried(board: BoardApi) -> None:
    document = board.client.get("/api/openapi.json").json()["paths"]
    said = {(verb.upper(), path) for path, item in document.items() for verb in item}
    paths = {(route.method, ONE.sub("/{id}", route.path.split("?")[0])) for route in ASKED}
    tried = {(verb, path.replace("/start/1/", "/{clock}/{n}/")) for verb, path in paths}

    assert {(verb, path) for verb, path in said if path not in OPEN} == tried


@pytest.mark.parametrize("route", ASKED, ids=name_of)
def test_nobody_is_answered_without_a_token(board: BoardApi, route: Route) -> None:
    for headers in ({}, {"Authorization": "Bearer nothing"}, {"Authorization": "Basic YTpi"}):
        answer = ask(board, route, headers)

        assert answer.status_code == 401
        assert answer.headers["www-authenticate"].startswith("Bearer")
        assert problem_of(answer)["type"].endswith(":unknown")


@pytest.mark.parametrize("role", Role)
@pytest.mark.parametrize("route", ROUTES, ids=name_of)
def test_a_role_may_do_what_is_its_own_and_nothing_else(
    board: BoardApi, route: Route, role: Role
) -> None:
    answer = ask(board, route, board.headers(role, ("w1",)))

    allowed = answer.status_code in (200, 201)
    assert (role, allowed) == (role, role in route.roles), answer.text
    if not allowed:
        assert answer.status_code == 403
        assert "Alder" not in str(problem_of(answer))


@pytest.mark.parametrize("role", Role)
@pytest.mark.parametrize("route", [route for route in ASKED if route.of_ward], ids=name_of)
def test_another_ward_is_closed_to_every_role(board: BoardApi, route: Route, role: Role) -> None:
    answer = ask(board, route, board.headers(role, ("w2",)))

    assert answer.status_code == 403
    assert "Alder" not in str(problem_of(answer))


def test_lists_hold_what_is_on_the_callers_wards(board: BoardApi) -> None:
    headers = board.headers("bedside_nurse", ("w2",))

    wards = board.client.get("/api/wards", headers=headers).json()
    staff = board.client.get("/api/staff", headers=headers).json()
    search = {"text": "Alder"}
    patients = board.client.post("/api/patients/search", json=search, headers=headers).json()

    assert [ward["id"] for ward in wards] == ["w2"]
    assert [person["id"] for person in staff] == ["n2"]
    assert [patient["id"] for patient in patients] == ["p2"]


def test_a_nurse_of_two_wards_reads_both(board: BoardApi) -> None:
    headers = board.headers("bedside_nurse", ("w1", "w2"))

    for ward_id in ("w1", "w2"):
        answer = board.client.get(f"/api/board?ward_id={ward_id}", headers=headers)
        shown = {row["episode_id"] for row in answer.json()["rows"]} & {"e1", "e2"}
        assert shown == {f"e{ward_id[1]}"}


@pytest.mark.parametrize(
    "path",
    [
        "/api/episodes/none",
        "/api/episodes/none/breaches/start/1/why",
        "/api/episodes/e1/breaches/start/2/why",
        "/api/episodes/e1/breaches/late_watch/1/why",
        "/api/episodes/%00",
        "/api/episodes/a%0Ab",
        "/api/patients/none",
        "/api/policies/none",
        "/api/board?ward_id=none",
        "/api/due?ward_id=none",
        "/api/reminders?ward_id=none",
        "/api/breaches?ward_id=none",
        "/api/stream?ward_id=none",
        f"/api/episodes/{'x' * 3_000}",
    ],
)
def test_what_does_not_exist_is_not_found(board: BoardApi, path: str) -> None:
    answer = board.client.get(path, headers=board.headers("interface"))

    assert answer.status_code == 404
    assert problem_of(answer)["type"].endswith(":not-found")


@pytest.mark.parametrize(
    ("path", "body"),
    [
        ("/api/episodes/none/events", NOTE),
        ("/api/patients/none/observations", OBSERVED),
        ("/api/orders", {**UNIT, "patient_id": "none", "units": 1, "urgency": "urgent"}),
        ("/api/episodes", {**UNIT, "ward_id": "none", "volume_ml": 280}),
    ],
)
def test_nothing_is_written_on_what_does_not_exist(
    board: BoardApi, path: str, body: dict[str, Any]
) -> None:
    answer = board.post(path, body)

    assert answer.status_code == 404, answer.text
