"""Confirmed steps over the JSON interface: recorded, read back, refused."""

from datetime import timedelta

import pytest

from tests.api.board_api import NOON, BoardApi, fields_of, problem_of

THEN = NOON - timedelta(hours=1)


def test_a_step_is_confirmed_and_read_back(ward: BoardApi) -> None:
    ward.record("e1", "confirmed", THEN, step="order_consent")
    answer = ward.record("e1", "confirmed", THEN, step="access", site="left arm", gauge="18G")

    told = [
        {name: event.get(name) for name in ("step", "site", "gauge")}
        for event in answer["episode"]["events"]
    ]
    assert told == [
        {"step": "order_consent", "site": None, "gauge": None},
        {"step": "access", "site": "left arm", "gauge": "18G"},
    ]


@pytest.mark.parametrize(
    ("payload", "field"),
    [({"step": "prayer"}, "step"), ({}, "step"), ({"step": "collected", "site": "arm"}, "site")],
)
def test_what_is_no_step_is_refused_with_its_field(
    ward: BoardApi, payload: dict[str, str], field: str
) -> None:
    answer = ward.refused("e1", "confirmed", THEN, **payload)

    assert (answer.status_code, fields_of(answer)) == (422, [field])


def test_a_step_that_the_phase_does_not_allow_is_refused_with_the_phase(ward: BoardApi) -> None:
    answer = ward.refused("e1", "confirmed", THEN, step="rate_reviewed")

    problem = problem_of(answer)
    assert (answer.status_code, problem["phase"]) == (409, "requested")
    assert "expected running or paused" in problem["detail"]


@pytest.mark.parametrize("who", ["manager", "administrator"])
def test_who_does_not_chart_confirms_nothing(ward: BoardApi, who: str) -> None:
    body = {"kind": "confirmed", "happened_at": "2026-03-03T11:00:00Z", "step": "access"}

    assert ward.post("/api/episodes/e1/events", body, who=who).status_code == 403
