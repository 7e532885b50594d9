"""A write that is sent twice happens once, also when both arrive at the same time."""

from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta
from typing import Any

import pytest

from server.services.tidy import ANSWERS_KEPT, tidy
from tests.api.board_api import NOON, PATIENT, BoardApi, fields_of, problem_of

NOTE = {"kind": "note", "happened_at": NOON, "text": "a"}
EVENTS = "/api/episodes/e1/events"


def notes(api: BoardApi) -> list[str]:
    """The texts of the notes that were kept."""
    events = api.get("/api/episodes/e1").json()["events"]
    return [event["text"] for event in events if event["kind"] == "note"]


def test_a_repeat_is_answered_as_the_first_was(ward: BoardApi) -> None:
    first = ward.post(EVENTS, NOTE, key="k1")
    ward.clock.now = NOON + timedelta(minutes=5)
    ward.record("e1", "note", NOON, text="b")

    again = ward.post(EVENTS, NOTE, key="k1")

    assert (again.status_code, again.json()) == (201, first.json())
    assert notes(ward) == ["a", "b"]


def test_without_a_key_each_is_its_own(ward: BoardApi) -> None:
    ward.post(EVENTS, NOTE)
    ward.post(EVENTS, NOTE)

    assert notes(ward) == ["a", "a"]


def test_spaces_and_the_order_of_names_do_not_make_another_body(ward: BoardApi) -> None:
    headers = ward.headers("interface") | {
        "Idempotency-Key": "k1",
        "content-type": "application/json",
    }
    one = b'{"kind":"note","happened_at":"2026-03-03T12:00:00Z","text":"a"}'
    other = b'{ "text": "\\u0061", "kind": "note", "happened_at": "2026-03-03T12:00:00Z" }'

    answers = [ward.client.post(EVENTS, content=body, headers=headers) for body in (one, other)]

    assert [answer.status_code for answer in answers] == [201, 201]
    assert answers[0].json() == answers[1].json()


@pytest.mark.parametrize(
    ("path", "body"),
    [
        (EVENTS, {**NOTE, "text": "b"}),
        ("/api/episodes/e2/events", NOTE),
        ("/api/patients", PATIENT),
    ],
)
def test_a_key_that_came_with_something_else_is_refused(
    ward: BoardApi, path: str, body: dict[str, Any]
) -> None:
    ward.episode("2")
    ward.post(EVENTS, NOTE, key="k1")

    answer = ward.post(path, body, key="k1")

    assert answer.status_code == 409
    assert problem_of(answer)["type"].endswith(":conflict")


def test_another_caller_may_use_the_same_key(ward: BoardApi) -> None:
    ward.post(EVENTS, NOTE, key="k1")

    answer = ward.post(EVENTS, {**NOTE, "text": "b"}, "bedside_nurse", key="k1")

    assert answer.status_code == 201
    assert notes(ward) == ["a", "b"]


def test_what_was_refused_may_be_tried_again_with_its_key(ward: BoardApi) -> None:
    received = {"kind": "received", "happened_at": NOON}
    assert ward.post(EVENTS, received, key="k1").status_code == 409
    ward.record("e1", "issued", NOON)

    assert ward.post(EVENTS, received, key="k1").status_code == 201


def test_repeats_at_the_same_time_store_one(ward: BoardApi) -> None:
    ward.token("interface")

    with ThreadPoolExecutor(12) as pool:
        answers = list(pool.map(lambda _: ward.post(EVENTS, NOTE, key="k1"), range(12)))

    assert [answer.status_code for answer in answers] == [201] * 12
    assert len({answer.json()["event_id"] for answer in answers}) == 1
    assert notes(ward) == ["a"]


@pytest.mark.parametrize("path", ["/api/patients", "/api/orders", "/api/episodes"])
def test_every_resource_is_made_once(ward: BoardApi, path: str) -> None:
    unit = {"patient_id": "p1", "ward_id": "w1", "bed": "1", "component": "red_cells"}
    body = {
        "/api/patients": PATIENT,
        "/api/orders": {**unit, "units": 2, "urgency": "urgent"},
        "/api/episodes": {**unit, "volume_ml": 280},
    }[path]

    first, again = (ward.post(path, body, key="k1").json() for _ in range(2))

    assert first == again


@pytest.mark.parametrize("key", ["", "a b", "ü", "x" * 201])
def test_a_key_that_cannot_be_one_is_refused(ward: BoardApi, key: str) -> None:
    headers = [(b"idempotency-key", key.encode()), *_raw(ward.headers("interface"))]

    answer = ward.client.post("/api/patients", json=PATIENT, headers=headers)

    assert fields_of(answer) == ["Idempotency-Key"]


def test_keys_are_forgotten_after_a_week(ward: BoardApi) -> None:
    ward.post(EVENTS, NOTE, key="k1")

    with ward.store.write() as session:
        kept = tidy(session, now=NOON + ANSWERS_KEPT)
        gone = tidy(session, now=NOON + ANSWERS_KEPT + timedelta(seconds=1))

    assert (kept, gone) == (0, 1)


def _raw(headers: dict[str, str]) -> list[tuple[bytes, bytes]]:
    return [(name.encode(), value.encode()) for name, value in headers.items()]
