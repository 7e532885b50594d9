"""One unit whose facts cannot be read, as programs meet it: named, refused, and in nobody's way."""

from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path
from typing import Final

import pytest

from tests.api.board_api import NOON, BoardApi, problem_of
from tests.api.conftest import opened_api
from tests.api.test_permissions import ROUTES, ask
from tests.services.poison import DAMAGED_ORDERS, KINDS, mend, tamper, write_past

NOTE: Final = {"kind": "note", "happened_at": NOON, "text": "seen"}
HEADER: Final = "unreadable-episodes"
NAMES_IT: Final = ("due", "breaches", "workload")
"""Lists that are made from the facts of units; a board has a field of its own for it."""


@pytest.fixture(params=list(KINDS))
def board(
    request: pytest.FixtureRequest, sqlite_template: Path, tmp_path: Path
) -> Iterator[BoardApi]:
    """`e1` and `e2` were issued on one ward; what was recorded of `e1` cannot be read."""
    with opened_api(sqlite_template, tmp_path) as opened:
        opened.ward("w1")
        opened.ward("w2")
        for number in ("1", "2"):
            opened.episode(number)
            opened.record(f"e{number}", "issued", NOON)
        tamper(opened.store, KINDS[request.param])
        if request.param == "asked for":
            write_past(opened.store, DAMAGED_ORDERS)
        yield opened


def test_nothing_fails_and_every_list_names_it(board: BoardApi) -> None:
    looks = [route for route in ROUTES if route.method == "GET"]
    board.clock.now += timedelta(hours=1)  # its start is overdue, and no tick has come by

    answers = {one.path: ask(board, one, board.headers("interface")) for one in looks}

    assert {path: one.status_code for path, one in answers.items() if one.status_code >= 500} == {}
    for name in NAMES_IT:
        (answer,) = (one for path, one in answers.items() if path.startswith(f"/api/{name}?"))
        assert answer.headers.get(HEADER) == "e1", name
    shown = board.get("/api/board", ward_id="w1").json()
    assert [row["episode_id"] for row in shown["rows"]] == ["e2"]
    assert shown["spoilt"] == [{"episode_id": "e1", "bed": "1"}]
    assert HEADER not in board.get("/api/due", ward_id="w2").headers


def test_a_fact_for_it_is_refused_under_its_key_and_taken_when_it_is_mended(
    board: BoardApi,
) -> None:
    refused = board.post("/api/episodes/e1/events", NOTE, key="k1")
    mend(board.store)
    taken = board.post("/api/episodes/e1/events", NOTE, key="k1")

    assert (refused.status_code, taken.status_code) == (409, 201)
    told = problem_of(refused)
    assert told["type"] == "urn:fourth-hour:problem:unreadable-episode"
    assert told["detail"] == "What is recorded of this unit cannot be read; nothing was recorded."


def test_it_is_no_more_told_to_strangers_than_any_other(board: BoardApi) -> None:
    stranger = board.headers("bedside_nurse", ("w2",))

    look = board.client.get("/api/episodes/e1", headers=stranger)
    fact = board.client.post(
        "/api/episodes/e1/events",
        json={**NOTE, "happened_at": "2026-03-03T12:00:00Z"},
        headers=stranger,
    )

    assert (look.status_code, fact.status_code) == (403, 403)


def test_others_of_its_ward_are_recorded_on(board: BoardApi) -> None:
    assert board.post("/api/episodes/e2/events", NOTE).status_code == 201
