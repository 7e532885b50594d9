"""Why a limit was not kept, over HTTP."""

from datetime import timedelta

import pytest

from tests.api.board_api import CHECKED, NOON, SOUND, BoardApi

ISSUED = NOON - timedelta(minutes=50)


@pytest.fixture
def late(ward: BoardApi) -> BoardApi:
    """`e1` was issued at 11:10 and sent back at 11:54, 14 min past both of its limits."""
    ward.record("e1", "issued", ISSUED)
    ward.record("e1", "returned", ISSUED + timedelta(minutes=44))
    return ward


def test_the_chain_and_what_would_have_kept_the_limit(late: BoardApi) -> None:
    found = late.get("/api/episodes/e1/breaches/return/1/why").json()
    (avoided,) = found.pop("avoided_by")
    chain = found.pop("chain")

    assert found == {
        "clock": "return",
        "n": 1,
        "limit_at": "2026-03-03T11:40:00Z",
        "state": "met_late",
        "breach": {
            "clock": "return",
            "n": 1,
            "limit_at": "2026-03-03T11:40:00Z",
            "met_at": "2026-03-03T11:54:00Z",
            "late_minutes": 14.0,
            "state": "met_late",
            "cause": None,
            "cause_text": None,
        },
        "says_why": True,
        "not_avoided_by": [
            {
                "act": "issue",
                "why": "Issued earlier, its limit would have come earlier by as much.",
            }
        ],
    }
    assert [(link["fact"], link["from_at"][11:16]) for link in chain] == [
        ("counted", "11:10"),
        ("nobody", "11:10"),
        ("done_late", "11:54"),
    ]
    assert avoided["event_id"]
    assert {**avoided, "event_id": None} == {
        "act": "return",
        "way": "earlier",
        "at": "2026-03-03T11:40:00Z",
        "was_at": "2026-03-03T11:54:00Z",
        "minutes": 14,
        "event_id": None,
        "rate_ml_h": None,
        "permitted_rate_ml_h": None,
        "left_ml": None,
        "also_kept": [{"clock": "start", "n": 1}],
        "then_passed": [],
        "words": "14 min earlier, at 11:40 instead of 11:54",
        "beside": ["It would have kept as well: Start."],
    }


def test_a_rate_and_the_limits_that_an_act_would_have_cost(ward: BoardApi) -> None:
    begun = NOON - timedelta(hours=5)
    ward.record("e1", "issued", begun)
    ward.record("e1", "inspected", begun, **SOUND)
    ward.record("e1", "identity_checked", begun, **CHECKED)
    ward.record("e1", "started", begun + timedelta(minutes=10), rate_ml_h=60)
    for minutes in (25, 110, 180):
        ward.observe("p1", begun + timedelta(minutes=minutes))
    ward.record("e1", "completed", begun + timedelta(minutes=270))

    acts = ward.get("/api/episodes/e1/breaches/finish/1/why").json()["avoided_by"]
    rate = next(act for act in acts if act["act"] == "rate")
    wanted = ward.get("/api/episodes/e1/breaches/running_check/1/why").json()["avoided_by"]

    assert (rate["way"], rate["rate_ml_h"], rate["permitted_rate_ml_h"]) == ("steady", 74, 300)
    assert wanted[0]["minutes"] == 10
    assert [(one["clock"], one["n"], one["late_minutes"]) for one in wanted[0]["then_passed"]] == [
        ("running_check", 2, 5.0)
    ]


@pytest.mark.parametrize("path", ["bedtime/1", "start/0", "start/one"])
def test_what_is_no_limit_is_named(late: BoardApi, path: str) -> None:
    refused = late.get(f"/api/episodes/e1/breaches/{path}/why")

    assert refused.status_code in (404, 422)
    assert refused.headers["content-type"] == "application/problem+json"
