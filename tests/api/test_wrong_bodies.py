"""Every field of every POST, wrong in type, range, size and encoding: named, and nothing stored."""

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import func, select

from server.store.tables import CATALOGUE
from tests.api.board_api import BoardApi, fields_of, problem_of
from tests.api.conftest import opened_api
from tests.api.schemas import Bodies

ROLES = {
    "/api/wards": "administrator",
    "/api/staff": "administrator",
    "/api/shifts": "charge_nurse",
    "/api/cover": "charge_nurse",
    "/api/plans": "charge_nurse",
    "/api/webhooks": "administrator",
    "/api/webhooks/{id}/state": "administrator",
    "/api/webhooks/{id}/secret": "administrator",
    "/api/webhooks/{id}/messages": "administrator",
}


@pytest.fixture(scope="module")
def board(sqlite_template: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[BoardApi]:
    """One board for all: what is refused leaves it as it was."""
    with opened_api(sqlite_template, tmp_path_factory.mktemp("wrong")) as opened:
        opened.ward()
        opened.episode()
        for who in ("interface", "administrator", "charge_nurse"):
            opened.token(who)
        yield opened


@pytest.fixture(scope="module")
def bodies(board: BoardApi) -> Bodies:
    """The bodies that the document describes."""
    return Bodies(board.client.get("/api/openapi.json").json())


def stored(board: BoardApi) -> dict[str, int]:
    """How many rows each table holds."""
    with board.store.read() as session:
        return {
            name: int(session.value(select(func.count()).select_from(table)))
            for name, table in CATALOGUE.tables.items()
        }


def send(board: BoardApi, path: str, body: Any) -> Any:
    """Send a body as it is: lone surrogates and endless numbers too."""
    address = path.replace("{id}", "p1" if "patients" in path else "e1")
    headers = board.headers(ROLES.get(path, "interface"))
    return board.client.post(
        address,
        content=json.dumps(body).encode(),
        headers=headers | {"content-type": "application/json"},
    )


# What can be wrong with a body of one field, and of none.
FEW = {"/api/patients/search": 6, "/api/webhooks/{id}/state": 6, "/api/webhooks/{id}/secret": 0}
NURSE = {"id": "n1", "name": "Nia", "role": "bedside_nurse", "wards": ["w1"]}
PATHS = (
    "/api/wards",
    "/api/staff",
    "/api/shifts",
    "/api/cover",
    "/api/labels",
    "/api/patients",
    "/api/patients/search",
    "/api/patients/{id}/observations",
    "/api/orders",
    "/api/episodes",
    "/api/episodes/{id}/events",
    "/api/plans",
    "/api/webhooks",
    "/api/webhooks/{id}/state",
    "/api/webhooks/{id}/secret",
    "/api/webhooks/{id}/messages",
)


def test_every_post_is_tried(bodies: Bodies) -> None:
    assert sorted(bodies.paths()) == sorted(PATHS)


@pytest.mark.parametrize("path", PATHS)
def test_a_wrong_value_is_refused_by_the_name_of_its_field(
    board: BoardApi, bodies: Bodies, path: str
) -> None:
    before, tried = stored(board), 0
    unnamed: list[tuple[str, Any, str]] = []

    for schema in bodies.of_path(path).values():
        for field, body in bodies.wrong(schema):
            answer = send(board, path, body)
            tried += 1
            named = fields_of(answer) if answer.status_code == 422 else [answer.text]
            if not any(name == field or field.startswith(f"{name}.") for name in named):
                unnamed.append((field, body, answer.text))

    assert unnamed == []
    assert stored(board) == before
    assert tried > FEW.get(path, 20)


@pytest.mark.parametrize("path", PATHS)
@pytest.mark.parametrize(
    ("body", "why"),
    [
        (b"", "expected a JSON object"),
        (b"{", "is not JSON"),
        (b"null", "expected a JSON object"),
        (b"[]", "expected a JSON object"),
        (b'"text"', "expected a JSON object"),
        (b"1", "expected a JSON object"),
        (b'{"a":NaN}', "NaN is no number"),
        (b'{"a":-Infinity}', "Infinity is no number"),
        (b'{"a":1,"a":2}', "a name is repeated"),
        (b'{"a":"\xff"}', "is not UTF-8"),
        (b'{"a":"\x01"}', "is not JSON"),
        (b"9" * 5_000, "is not JSON"),
        (b"[" * 100_000, "is nested too deeply"),
        (b'{"a":' * 30 + b"1" + b"}" * 30, "is nested too deeply"),
    ],
)
def test_what_is_no_body_is_refused_as_a_whole(
    board: BoardApi, path: str, body: bytes, why: str
) -> None:
    address = path.replace("{id}", "p1" if "patients" in path else "e1")
    headers = board.headers(ROLES.get(path, "interface")) | {"content-type": "application/json"}

    answer = board.client.post(address, content=body, headers=headers)

    assert fields_of(answer) == ["body"]
    assert why in problem_of(answer)["errors"][0]["message"]


def test_a_body_of_another_media_type_is_refused(board: BoardApi) -> None:
    headers = board.headers("administrator") | {"content-type": "text/plain"}

    answer = board.client.post("/api/wards", content=b'{"name":"a"}', headers=headers)

    assert fields_of(answer) == ["body"]


@pytest.mark.parametrize("kind", [None, 1, "", "no_such_kind", "x" * 10_000, "\ud800"])
def test_an_unknown_kind_is_named_without_being_repeated(board: BoardApi, kind: Any) -> None:
    body = {"kind": kind, "happened_at": "2026-03-03T12:00:00Z"}

    answer = send(board, "/api/episodes/{id}/events", body)

    assert fields_of(answer) == ["kind"]
    assert len(answer.text) < 1_000


def test_what_was_sent_is_not_repeated(board: BoardApi) -> None:
    body = {"record_number": "SECRET" * 100, "family_name": ["SECRET"], "SECRET" * 100: 1}

    answer = send(board, "/api/patients", body)

    errors = problem_of(answer)["errors"]
    assert [error for error in errors if "SECRET" in error["message"]] == []
    assert max(len(error["field"]) for error in errors) <= 120


REFUSED = {
    # There is no cover that could give way, and no such bag.
    "/api/cover": {"": 422},
    # Nothing was recorded that could be voided; a warning is the charge nurse's to check.
    "/api/episodes/{id}/events": {"voided": 422, "warning_checked": 403},
    # A search makes nothing.
    "/api/patients/search": {"": 200},
    # A label that says nothing of its kind.
    "/api/labels": {"": 422},
    # There is no webhook, and a message is a trial or one again, not both.
    "/api/webhooks/{id}/state": {"": 404},
    "/api/webhooks/{id}/secret": {"": 404},
    "/api/webhooks/{id}/messages": {"": 422},
}


@pytest.mark.parametrize("path", PATHS)
def test_a_body_with_every_field_is_understood(
    sqlite_template: Path, tmp_path: Path, bodies: Bodies, path: str
) -> None:
    with opened_api(sqlite_template, tmp_path) as other:
        other.ward()
        other.episode()
        for staff_id in ("n1", "n2"):
            other.made("/api/staff", NURSE | {"id": staff_id}, "administrator")
        any_revision = {"expected_revision": None} if "events" in path else {}
        understood = {
            kind: send(other, path, bodies.good(schema) | any_revision).status_code
            for kind, schema in bodies.of_path(path).items()
        }

    # Not every phase allows every event.
    expected = {409, 201} if "events" in path else {201}
    refused = {kind: status for kind, status in understood.items() if status not in expected}
    assert refused == REFUSED.get(path, {})
