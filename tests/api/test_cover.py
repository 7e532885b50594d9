"""Cover over the JSON interface: entered once, read with its gaps, refused with the reason."""

from datetime import timedelta
from typing import Any

import pytest

from tests.api.board_api import NOON, BoardApi, fields_of, problem_of

MINUTE = timedelta(minutes=1)
BODY = {
    "ward_id": "w1",
    "covering_id": "n2",
    "covered_id": "n1",
    "from_at": NOON,
    "until_at": NOON + 30 * MINUTE,
}


@pytest.fixture
def staffed(ward: BoardApi) -> BoardApi:
    """Two nurses on the ward; `n1` has `e1` and goes on a break from 12:20 until 12:40."""
    for name in ("n1", "n2"):
        nurse = {"id": name, "name": f"Nurse {name}", "role": "bedside_nurse", "wards": ["w1"]}
        ward.made("/api/staff", nurse, "administrator")
    pause = {"starts_at": NOON + 20 * MINUTE, "ends_at": NOON + 40 * MINUTE}
    shift = {
        "staff_id": "n1",
        "ward_id": "w1",
        "starts_at": NOON - 240 * MINUTE,
        "ends_at": NOON + 240 * MINUTE,
        "breaks": [pause],
    }
    ward.made("/api/shifts", shift, "charge_nurse")
    ward.record("e1", "assigned", NOON, nurse_id="n1")
    ward.record("e1", "issued", NOON)
    return ward


def read(api: BoardApi) -> Any:
    return api.get("/api/cover", ward_id="w1").json()


def test_a_cover_is_entered_and_read(staffed: BoardApi) -> None:
    made = staffed.made("/api/cover", BODY, "charge_nurse")

    assert made == {
        "id": made["id"],
        "ward_id": "w1",
        "covering_id": "n2",
        "covered_id": "n1",
        "from_at": "2026-03-03T12:00:00Z",
        "until_at": "2026-03-03T12:30:00Z",
        "ended_at": None,
    }
    assert read(staffed) == {
        "at": "2026-03-03T12:00:00Z",
        "ward_id": "w1",
        "covers": [made],
        "gaps": [],
    }


def test_without_instants_it_is_for_the_planned_break(staffed: BoardApi) -> None:
    asked = {name: BODY[name] for name in ("ward_id", "covering_id", "covered_id")}

    made = staffed.made("/api/cover", asked, "charge_nurse")

    assert (made["from_at"], made["until_at"]) == ("2026-03-03T12:20:00Z", "2026-03-03T12:40:00Z")


def test_a_break_without_cover_is_a_gap(staffed: BoardApi) -> None:
    staffed.clock.now = NOON + 25 * MINUTE

    gap = {"nurse_id": "n1", "answering_id": "n1", "until_at": "2026-03-03T12:40:00Z"}
    assert read(staffed)["gaps"] == [gap]


def test_the_same_request_twice_enters_one(staffed: BoardApi) -> None:
    answers = [staffed.post("/api/cover", BODY, "charge_nurse", key="k") for _ in range(2)]

    assert [answer.status_code for answer in answers] == [201, 201]
    assert answers[0].json() == answers[1].json()
    assert len(read(staffed)["covers"]) == 1


def test_one_gives_way_to_another(staffed: BoardApi) -> None:
    old = staffed.made("/api/cover", BODY, "charge_nurse")
    staffed.clock.now = NOON + 10 * MINUTE

    new = staffed.made("/api/cover", BODY | {"replaces": old["id"]}, "charge_nurse")

    assert new["from_at"] == "2026-03-03T12:10:00Z"
    assert [one["id"] for one in read(staffed)["covers"]] == [new["id"]]


def test_a_second_one_clashes_and_says_with_what(staffed: BoardApi) -> None:
    staffed.made("/api/cover", BODY, "charge_nurse")

    answer = staffed.post("/api/cover", BODY, "charge_nurse")

    assert answer.status_code == 409
    assert "Nurse n1 is covered already: by Nurse n2 from 12:00" in problem_of(answer)["detail"]


@pytest.mark.parametrize(
    ("wrong", "field"),
    [
        ({"covering_id": "n1"}, "covering_id"),
        ({"covering_id": "nobody"}, "covering_id"),
        ({"until_at": NOON}, "until_at"),
        ({"replaces": "none"}, "replaces"),
        ({"more": 1}, "more"),
    ],
)
def test_what_cannot_be_names_its_field(
    staffed: BoardApi, wrong: dict[str, Any], field: str
) -> None:
    assert fields_of(staffed.post("/api/cover", BODY | wrong, "charge_nurse")) == [field]
    assert read(staffed)["covers"] == []


def test_reminders_are_addressed_to_whoever_covers(staffed: BoardApi) -> None:
    staffed.made("/api/cover", BODY, "charge_nurse")
    staffed.clock.now = NOON + 25 * MINUTE
    staffed.record("e1", "received", NOON + 25 * MINUTE)

    raised = staffed.get("/api/reminders", ward_id="w1").json()

    assert {one["to"] for one in raised} == {"n2"}


def test_a_cover_is_ended_once_and_only_by_whom_it_concerns(staffed: BoardApi) -> None:
    made = staffed.made("/api/cover", BODY, "charge_nurse")
    staffed.clock.now = NOON + 10 * MINUTE
    end = f"/api/cover/{made['id']}/end"

    refused = staffed.post(end, None, "bedside_nurse")
    answers = [staffed.post(end, None, "charge_nurse", key="k") for _ in range(2)]
    again = staffed.post(end, None, "charge_nurse")

    assert (refused.status_code, read(staffed)["covers"]) == (403, [])
    assert [(one.status_code, one.json()) for one in answers] == [
        (200, made | {"ended_at": "2026-03-03T12:10:00Z"})
    ] * 2
    assert (again.status_code, problem_of(again)["detail"]) == (409, "That cover is over already.")
    assert staffed.post("/api/cover/none/end", None, "charge_nurse").status_code == 404
