"""The breaches of a ward over HTTP: all or some of them, also as they were known then."""

from datetime import timedelta
from typing import Any

import pytest

from tests.api.board_api import NOON, BoardApi

ISSUED = NOON - timedelta(hours=8)


@pytest.fixture
def late(ward: BoardApi) -> BoardApi:
    """`e1` was issued at four on a Tuesday and never started, and somebody said why."""
    ward.record("e1", "issued", ISSUED)
    cause = {"kind": "cause_given", "happened_at": NOON, "clock": "start", "cause": "no porter"}
    ward.made("/api/episodes/e1/events", cause, "manager")
    return ward


@pytest.mark.parametrize(
    ("asked", "clocks"),
    [
        ({}, ["return", "start", "finish"]),
        ({"component": "red_cells"}, ["return", "start", "finish"]),
        ({"component": "plasma"}, []),
        ({"explained": "true"}, ["start"]),
        ({"explained": "false"}, ["return", "finish"]),
        ({"hour": ISSUED.hour, "shift": "none"}, ["return", "start"]),
        ({"weekday": 2, "night": "true"}, ["return", "start"]),
        ({"weekday": 2, "night": "false"}, ["finish"]),
        ({"weekday": 3}, []),
        ({"shift": "07:00-19:30"}, []),
    ],
)
def test_breaches_are_narrowed(late: BoardApi, asked: dict[str, Any], clocks: list[str]) -> None:
    found = late.get("/api/breaches", ward_id="w1", **asked)

    known: dict[str, Any] = {"at": NOON, "known_at": NOON + timedelta(hours=1)}
    then = late.get("/api/breaches", ward_id="w1", **asked, **known)
    assert [one["clock"] for one in found.json()] == clocks
    assert [one["clock"] for one in then.json()] == clocks


@pytest.mark.parametrize(
    ("name", "value"),
    [("weekday", "0"), ("weekday", "8"), ("hour", "24"), ("shift", "late"), ("night", "dusk")],
)
def test_a_filter_that_is_none_is_named(ward: BoardApi, name: str, value: str) -> None:
    refused = ward.get("/api/breaches", ward_id="w1", **{name: value})

    assert refused.status_code == 422
    assert [error["field"] for error in refused.json()["errors"]] == [name]
