"""Every failure is a problem that says what a program needs, and nothing about a patient."""

import logging
from collections.abc import Callable, Iterator
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from fastapi import FastAPI

from server.domain.encoding import write_instant
from server.store.errors import Away
from server.store.sessions import WriteSession
from tests.api.board_api import NOON, PATIENT, BoardApi, fields_of, problem_of
from tests.api.conftest import opened_api

NOTE = {"kind": "note", "happened_at": NOON, "text": "a"}


def app_of(api: BoardApi) -> FastAPI:
    """The application behind a client."""
    return api.client.app  # type: ignore[attr-defined, no-any-return]  # a TestClient has it


@pytest.mark.parametrize("path", ["/api", "/api/", "/api/nothing", "/api/wards/w1/none", "/none"])
def test_an_unknown_address_is_a_problem(api: BoardApi, path: str) -> None:
    answer = api.client.get(path)

    assert answer.status_code == 404
    assert problem_of(answer)["type"].endswith(":not-found")


@pytest.mark.parametrize(
    ("method", "path", "allowed"),
    [
        ("DELETE", "/api/wards", "GET, POST"),
        ("PUT", "/api/episodes/e1", "GET"),
        ("GET", "/api/episodes/e1/events", "POST"),
        ("POST", "/healthz", "GET"),
    ],
)
def test_a_method_that_is_not_there_is_a_problem(
    api: BoardApi, method: str, path: str, allowed: str
) -> None:
    answer = api.client.request(method, path)

    assert (answer.status_code, answer.headers["allow"]) == (405, allowed)
    assert problem_of(answer)["type"].endswith(":method-not-allowed")


def test_a_page_that_does_not_exist_is_a_page_for_a_browser(api: BoardApi) -> None:
    answer = api.client.get("/none", headers={"accept": "text/html"})

    assert (answer.status_code, answer.headers["content-type"].split(";")[0]) == (404, "text/html")


@pytest.mark.parametrize("chunked", [True, False])
def test_a_body_that_is_too_large_is_a_problem(api: BoardApi, *, chunked: bool) -> None:
    body = b'{"name":"' + b"a" * 1_048_576 + b'"}'

    def pieces() -> Iterator[bytes]:
        yield from (body[start : start + 65_536] for start in range(0, len(body), 65_536))

    answer = api.client.post(
        "/api/wards",
        content=pieces() if chunked else body,
        headers=api.headers("administrator") | {"content-type": "application/json"},
    )

    assert answer.status_code == 413
    assert problem_of(answer)["detail"] == "A body may have at most 1048576 bytes."


def test_a_body_at_the_limit_is_read(sqlite_template: Path, tmp_path: Path) -> None:
    with opened_api(sqlite_template, tmp_path, body_limit_bytes=1_024) as api:
        filled = b'{"name":"a"}'.ljust(1_024)
        headers = api.headers("administrator") | {"content-type": "application/json"}

        at_limit = api.client.post("/api/wards", content=filled, headers=headers)
        beyond = api.client.post("/api/wards", content=filled + b" ", headers=headers)

    assert (at_limit.status_code, beyond.status_code) == (422, 413)


def test_a_step_that_the_phase_does_not_allow_says_the_phase(ward: BoardApi) -> None:
    answer = ward.refused("e1", "started", NOON, rate_ml_h=60)

    said = problem_of(answer)
    assert (answer.status_code, said["phase"]) == (409, "requested")
    assert said["type"].endswith(":refused")
    assert [event["kind"] for event in ward.get("/api/episodes/e1").json()["events"]] == []


def test_a_start_that_the_policy_refuses_says_what_is_missing(ward: BoardApi) -> None:
    ward.record("e1", "issued", NOON)

    answer = ward.refused("e1", "started", NOON, rate_ml_h=60)

    assert (answer.status_code, problem_of(answer)["phase"]) == (409, "issued")
    assert "not inspected" in problem_of(answer)["detail"]
    assert ward.get("/api/episodes/e1").json()["phase"] == "issued"


def test_a_stale_revision_says_the_present_one(ward: BoardApi) -> None:
    seen = ward.record("e1", "issued", NOON)["revision"]
    present = ward.record("e1", "note", NOON, text="a")["revision"]

    stale = ward.refused("e1", "received", NOON, expected_revision=seen)
    fresh = ward.refused("e1", "received", NOON, expected_revision=present)

    assert (stale.status_code, problem_of(stale)["revision"]) == (409, present)
    assert fresh.status_code == 201


def test_the_revision_that_is_shown_is_the_one_that_is_expected(ward: BoardApi) -> None:
    ward.record("e1", "issued", NOON)
    ward.observe("p1", NOON)
    shown = ward.get("/api/episodes/e1").json()["revision"]

    answer = ward.refused("e1", "received", NOON, expected_revision=shown)

    assert answer.status_code == 201, answer.text


@pytest.mark.parametrize(("seconds", "status"), [(120, 201), (121, 422)])
def test_a_fact_may_be_two_minutes_ahead(ward: BoardApi, seconds: int, status: int) -> None:
    ahead = NOON + timedelta(seconds=seconds)

    answer = ward.refused("e1", "note", ahead, text="a")

    assert answer.status_code == status
    assert status == 201 or fields_of(answer) == ["happened_at"]


@pytest.mark.parametrize(
    ("send", "field"),
    [
        (lambda api, at: api.refused("e1", "issued", NOON, removed_at=at), "removed_at"),
        (
            lambda api, at: api.post(
                "/api/patients/p1/observations", {"happened_at": at, "pulse_per_min": 70}
            ),
            "happened_at",
        ),
        (lambda api, at: api.post("/api/orders", _order(sample_taken_at=at)), "sample_taken_at"),
        (
            lambda api, at: api.post("/api/patients", PATIENT | {"birth_date": f"{at:%Y-%m-%d}"}),
            "birth_date",
        ),
    ],
)
def test_nothing_that_has_happened_lies_in_the_future(
    ward: BoardApi, send: Callable[[BoardApi, Any], Any], field: str
) -> None:
    assert fields_of(send(ward, NOON + timedelta(days=1))) == [field]


def test_an_expiry_may_lie_in_the_future(ward: BoardApi) -> None:
    answer = ward.refused("e1", "issued", NOON, expires_at=NOON + timedelta(days=30))

    assert answer.status_code == 201


@pytest.mark.parametrize("path", ["/api/wards", "/api/board?ward_id=w1", "/api/stream?ward_id=w1"])
def test_a_database_that_is_away_is_told_with_when_to_come_back(
    ward: BoardApi, monkeypatch: pytest.MonkeyPatch, path: str
) -> None:
    headers = ward.headers("interface")
    monkeypatch.setattr(ward.store, "read", _away)

    answer = ward.client.get(path, headers=headers)

    assert answer.status_code == 503
    assert int(answer.headers["retry-after"]) > 0
    assert "SELECT" not in answer.text


def test_a_commit_that_fails_is_no_success(ward: BoardApi, monkeypatch: pytest.MonkeyPatch) -> None:
    def fail(_: WriteSession) -> Any:
        raise Away("the disk is full")

    monkeypatch.setattr(WriteSession, "stamp_changes", fail)
    answer = ward.post("/api/episodes/e1/events", NOTE, key="k1")
    monkeypatch.undo()

    assert answer.status_code == 503
    assert ward.get("/api/episodes/e1").json()["events"] == []
    assert ward.post("/api/episodes/e1/events", NOTE, key="k1").status_code == 201


def test_a_fault_is_told_by_a_number_and_traced_in_the_log_only(
    ward: BoardApi, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    def break_down(_: WriteSession) -> Any:
        raise RuntimeError(f"{PATIENT['family_name']}, born 1961-05-04")

    monkeypatch.setattr(WriteSession, "stamp_changes", break_down)
    with caplog.at_level(logging.ERROR):
        answer = ward.post("/api/episodes/e1/events", NOTE)

    said = problem_of(answer)
    assert answer.status_code == 500
    assert "Alder" not in answer.text
    number = said["instance"].removeprefix("urn:fourth-hour:request:")
    (failed,) = [one for one in caplog.records if one.message == "a request failed"]
    assert answer.headers["x-request-id"] == number
    assert "RuntimeError" in vars(failed)["stack"]
    assert "Alder" not in f"{vars(failed)}{caplog.text}"


@pytest.mark.parametrize("path", ["/api/wards", "/api/none", "/healthz", "/none"])
def test_every_answer_says_what_a_browser_is_to_hold_it_to(api: BoardApi, path: str) -> None:
    headers = api.client.get(path).headers

    for rule in ("default-src 'none'", "object-src 'none'", "base-uri 'none'", "script-src 'self'"):
        assert rule in headers["content-security-policy"].split("; ")
    assert "unsafe" not in headers["content-security-policy"]
    assert headers["x-content-type-options"] == "nosniff"
    assert headers["referrer-policy"] == "same-origin"
    assert headers["cache-control"] == "no-store"
    assert "strict-transport-security" not in headers


def test_a_fault_has_the_same_headers(ward: BoardApi, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(app_of(ward).state, "policies", None)

    answer = ward.get("/api/policies")

    assert answer.status_code == 500
    assert answer.headers["x-content-type-options"] == "nosniff"


def test_behind_https_a_browser_is_told_to_stay_there(
    sqlite_template: Path, tmp_path: Path
) -> None:
    with opened_api(sqlite_template, tmp_path, secure_cookies=True) as api:
        answer = api.client.get("/healthz")

    assert answer.headers["strict-transport-security"] == "max-age=31536000; includeSubDomains"


@pytest.mark.parametrize(
    ("query", "field"),
    [
        ("", "ward_id"),
        ("ward_id=w1&ward=w1", "ward"),
        ("ward_id=w1&at=yesterday", "at"),
        ("ward_id=w1&at=2026-03-03T12:00:00", "at"),
        ("ward_id=w1&known_at=1772539200", "known_at"),
        ("ward_id=w1%00", "ward_id"),
        ("ward_id=", "ward_id"),
        ("ward_id=w1&ward_id=w2", "ward_id"),
    ],
)
def test_a_query_that_is_not_understood_is_named(ward: BoardApi, query: str, field: str) -> None:
    answer = ward.client.get(f"/api/board?{query}", headers=ward.headers("interface"))

    assert fields_of(answer) == [field]


@pytest.mark.parametrize("offset", ["Z", "%2B00:00", "+00:00", "-00:00"])
def test_an_offset_is_read_however_it_is_written(ward: BoardApi, offset: str) -> None:
    path = f"/api/board?ward_id=w1&at=2026-03-03T11:59:00{offset}"

    answer = ward.client.get(path, headers=ward.headers("interface"))

    assert answer.json()["at"] == "2026-03-03T11:59:00Z"


@pytest.mark.parametrize(
    ("asked", "answered"),
    [
        ("0001-01-01T00:00:00+14:00", "1900-01-01T00:00:00Z"),
        ("9999-12-31T23:59:59-14:00", "2199-12-31T00:00:00Z"),
    ],
)
def test_beyond_all_time_the_nearest_is_answered(ward: BoardApi, asked: str, answered: str) -> None:
    board = ward.get("/api/board", ward_id="w1", at=asked, known_at=asked)
    breaches = ward.get("/api/breaches", ward_id="w1", at=asked, **{"from": asked})

    assert (board.json()["at"], breaches.json()) == (answered, [])


def test_an_instant_is_answered_in_utc_to_the_second(ward: BoardApi) -> None:
    body = {"kind": "note", "happened_at": "2026-03-03T13:59:58.999+02:00", "text": "a"}

    answer = ward.made("/api/episodes/e1/events", body)

    (event,) = answer["episode"]["events"]
    assert event["happened_at"] == write_instant(NOON - timedelta(seconds=2))


def _away() -> Any:
    raise Away("SELECT secret FROM patient")


def _order(**more: Any) -> dict[str, Any]:
    unit = {"patient_id": "p1", "ward_id": "w1", "bed": "1", "component": "red_cells"}
    return {**unit, "units": 1, "urgency": "routine", **more}
