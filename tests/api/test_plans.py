"""Plans over the JSON interface: asked for, accepted, seen on the board, discarded; the work."""

from datetime import timedelta
from typing import Any

import pytest

from tests.api.board_api import NOON, BoardApi, fields_of, problem_of

MINUTE = timedelta(minutes=1)
ASK = {"ward_id": "w1", "from": NOON, "horizon_minutes": 480, "seconds": 2}


@pytest.fixture
def staffed(ward: BoardApi) -> BoardApi:
    """Three nurses from 11:00 to 23:00, and `e1` and `e2` that wait."""
    for number in (1, 2, 3):
        nurse = {"id": f"n{number}", "name": f"Nurse {number}", "role": "bedside_nurse"}
        ward.made("/api/staff", {**nurse, "wards": ["w1"]}, "administrator")
        shift = {
            "staff_id": f"n{number}",
            "ward_id": "w1",
            "starts_at": NOON - 60 * MINUTE,
            "ends_at": NOON + 660 * MINUTE,
        }
        ward.made("/api/shifts", shift, "charge_nurse")
    ward.episode("2")
    ward.record("e1", "available", NOON)
    return ward


def read_board(api: BoardApi) -> dict[str, Any]:
    rows = api.get("/api/board", ward_id="w1").json()["rows"]
    return {row["episode_id"]: row["reason"] for row in rows}


def test_a_plan_is_made_kept_and_accepted(staffed: BoardApi) -> None:
    made = staffed.made("/api/plans", ASK, "charge_nurse")

    assert (made["status"], made["made_by"], made["accepted_at"]) == ("optimal", "solver", None)
    assert (made["bound"], made["gap_percent"]) == (made["objective"], 0.0)
    assert (made["unplaced"], made["relaxed"]) == ([], [])
    assert {start["episode_id"] for start in made["starts"]} == {"e1", "e2"}
    for start in made["starts"]:
        assert start["call_at"] < start["check_at"] < start["start_at"] < start["first_check_at"]
        assert start["first_check_at"] < start["projected_end_at"]
        assert start["nurse_id"] != start["second_id"]
        assert start["spare_minutes"] > 0
    assert staffed.get(f"/api/plans/{made['id']}", "bedside_nurse").json() == made

    accepted = staffed.post(f"/api/plans/{made['id']}/accept", None, "charge_nurse")

    assert accepted.status_code == 200
    assert accepted.json() == {**made, "accepted_at": "2026-03-03T12:00:00Z"}
    first = next(start for start in made["starts"] if start["episode_id"] == "e1")
    assert f"call at {first['call_at'][11:16]}" in read_board(staffed)["e1"]
    discarded = staffed.post(f"/api/plans/{made['id']}/discard", None, "charge_nurse")
    assert discarded.status_code == 200
    assert read_board(staffed)["e1"] == "Ready at the blood bank."


def test_the_same_key_makes_one_plan(staffed: BoardApi) -> None:
    answers = [staffed.post("/api/plans", ASK, "charge_nurse", key="k") for _ in range(2)]

    assert [answer.status_code for answer in answers] == [201, 201]
    assert answers[0].json() == answers[1].json()
    other = staffed.post("/api/plans", {**ASK, "seconds": 1}, "charge_nurse", key="k")
    assert other.status_code == 409


def test_without_nurses_a_plan_says_why_nothing_is_placed(ward: BoardApi) -> None:
    made = ward.made("/api/plans", ASK, "charge_nurse")

    assert (made["starts"], [one["episode_id"] for one in made["unplaced"]]) == ([], ["e1"])
    assert made["unplaced"][0]["reason"]
    assert made["status"] == "optimal"


def test_the_work_of_a_ward_is_told_slot_by_slot(staffed: BoardApi) -> None:
    made = staffed.made("/api/plans", ASK, "charge_nurse")
    staffed.post(f"/api/plans/{made['id']}/accept", None, "charge_nurse")
    until = NOON + 120 * MINUTE
    query: dict[str, Any] = {
        "ward_id": "w1",
        "from": NOON,
        "to": until,
        "slot_minutes": 30,
    }

    work = staffed.get("/api/workload", **query).json()

    assert work["slots"] == [
        {"from_at": f"2026-03-03T{begin}:00Z", "until_at": f"2026-03-03T{end}:00Z"}
        for begin, end in (
            ("12:00", "12:30"), ("12:30", "13:00"), ("13:00", "13:30"), ("13:30", "14:00"),
        )
    ]  # fmt: skip
    assert [one["staff_id"] for one in work["staff"]] == ["n1", "n2", "n3"]
    for person in work["staff"]:
        assert len(person["minutes"]) == len(person["locked"]) == len(person["over"]) == 4
        assert person["over"] == [0.0] * 4
    assert sum(sum(person["minutes"]) for person in work["staff"]) > 0
    assert work["unassigned"] == []


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"horizon_minutes": 0}, "horizon_minutes"),
        ({"horizon_minutes": 2881}, "horizon_minutes"),
        ({"seconds": 61}, "seconds"),
        ({"from": "2026-03-03T12:00:00"}, "from"),
    ],
)
def test_what_cannot_be_asked_is_refused_by_its_field(
    ward: BoardApi, change: dict[str, Any], field: str
) -> None:
    answer = ward.post("/api/plans", ASK | change, "charge_nurse")

    assert (answer.status_code, fields_of(answer)) == (422, [field])


def test_an_unknown_plan_is_not_found(ward: BoardApi) -> None:
    for answer in (
        ward.get("/api/plans/none", "charge_nurse"),
        ward.post("/api/plans/none/accept", None, "charge_nurse"),
        ward.post("/api/plans/none/discard", None, "charge_nurse"),
    ):
        assert answer.status_code == 404
        assert problem_of(answer)["detail"] == "The plan was not found."
    unknown = ward.post("/api/plans", {**ASK, "ward_id": "w9"}, "charge_nurse")
    assert unknown.status_code == 404
