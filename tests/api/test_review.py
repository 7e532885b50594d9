"""The rates of a ward as JSON: whole, by parts, as of then; a question that cannot be is refused.

Wilson's interval of 1 of 2 and 0 of 1 stands in Newcombe's formula, worked out here by hand.
"""

from datetime import timedelta
from itertools import pairwise
from typing import Any, Final

import pytest

from tests.api.board_api import NOON, BoardApi, fields_of, problem_of

PATH: Final = "/api/review"
CLOCKS: Final = {
    "start", "return", "finish", "baseline_check", "first_check", "running_check",
    "reaction_check", "end_check", "set_change", "fate",
}  # fmt: skip
NOTHING: Final = {
    "owed": 0, "met": 0, "late": 0, "missed": 0, "rate": None, "low": None, "high": None,
}  # fmt: skip
ONE_OF_TWO: Final = {
    "owed": 2, "met": 1, "late": 1, "missed": 0, "rate": 0.5, "low": 0.094531, "high": 0.905469,
}  # fmt: skip
NONE_OF_ONE: Final = {
    "owed": 1, "met": 0, "late": 1, "missed": 0, "rate": 0.0, "low": 0.0, "high": 0.793451,
}  # fmt: skip
ALL_OF_ONE: Final = NONE_OF_ONE | {"met": 1, "late": 0, "rate": 1.0, "low": 0.206549, "high": 1.0}
DAY: Final = timedelta(days=1)


@pytest.fixture
def ward(api: BoardApi) -> BoardApi:
    """Tuesday: one unit started 10 min after its issue, one of platelets after 40 on Wednesday."""
    api.ward()
    api.episode("1")
    api.episode("2", component="platelets")
    api.clock.now = NOON + timedelta(minutes=10)
    api.start("e1", NOON, minutes=10)
    api.clock.now = NOON + 2 * DAY
    api.start("e2", NOON + DAY, minutes=40)
    return api


def asked(ward: BoardApi, who: str = "manager", **query: Any) -> Any:
    period = {"from": NOON - 2 * DAY, "to": NOON + 6 * DAY}
    answer = ward.get(PATH, who, **({"ward_id": "w1"} | period | query))
    assert answer.status_code == 200, answer.text
    return answer.json()


def test_a_period_has_every_clock_with_its_rate(ward: BoardApi) -> None:
    said = asked(ward)

    clocks = said.pop("clocks")
    assert said == {
        "ward_id": "w1",
        "component": None,
        "by": None,
        "from_at": "2026-03-01T12:00:00Z",
        "to_at": "2026-03-09T12:00:00Z",
        "periods": [],
    }
    assert set(clocks) == CLOCKS
    assert (clocks["start"], clocks["fate"]) == (ONE_OF_TWO, NOTHING)


def test_parts_are_the_weeks_of_the_ward_cut_to_the_period(ward: BoardApi) -> None:
    weeks = asked(ward, by="week")["periods"]

    edges = ["2026-03-01T12:00:00Z", "2026-03-02T00:00:00Z", "2026-03-09T00:00:00Z",
             "2026-03-09T12:00:00Z"]  # fmt: skip
    starts = [NOTHING, ONE_OF_TWO, NOTHING]
    assert [(week["from_at"], week["to_at"]) for week in weeks] == [*pairwise(edges)]
    assert [week["clocks"]["start"] for week in weeks] == starts
    assert [len(asked(ward, by=by)["periods"]) for by in ("day", "month")] == [9, 1]


def test_one_component_is_counted_alone(ward: BoardApi) -> None:
    assert asked(ward, component="platelets")["clocks"]["start"] == NONE_OF_ONE


def test_rates_are_told_as_of_an_instant_and_as_known_then(ward: BoardApi) -> None:
    late = NOON + DAY + timedelta(minutes=35)

    as_of = asked(ward, at=late)["clocks"]["start"]
    known = asked(ward, known_at=NOON + DAY)["clocks"]["start"]

    # At 12:35 the second start was overdue; what was recorded on Thursday nobody knew before.
    assert as_of == ONE_OF_TWO | {"late": 0, "missed": 1}
    assert known == ALL_OF_ONE


@pytest.mark.parametrize(
    ("query", "field"),
    [
        ({"ward_id": ""}, "ward_id"),
        ({"from": "yesterday"}, "from"),
        ({"to": "2026-03-03T12:00:00"}, "to"),
        ({"to": NOON - 2 * DAY}, "to"),
        ({"by": "fortnight"}, "by"),
        ({"by": "day", "from": NOON - 5_000 * DAY}, "by"),
        ({"component": "albumin"}, "component"),
        ({"nurse_id": "n1"}, "nurse_id"),
    ],
)
def test_a_question_that_cannot_be_is_refused_by_its_field(
    ward: BoardApi, query: dict[str, Any], field: str
) -> None:
    period = {"from": NOON - 2 * DAY, "to": NOON + 6 * DAY}

    answer = ward.get(PATH, "manager", **({"ward_id": "w1"} | period | query))

    assert fields_of(answer) == [field]


def test_a_period_has_to_be_said(ward: BoardApi) -> None:
    assert fields_of(ward.get(PATH, "manager", ward_id="w1")) == ["from", "to"]


def test_whoever_reads_the_ward_may_read_its_rates_and_nobody_else(ward: BoardApi) -> None:
    ward.ward("w2")
    period = {"from": NOON, "to": NOON + DAY}
    readers = ("bedside_nurse", "charge_nurse", "manager", "administrator", "interface")
    assert {who: len(asked(ward, who)["clocks"]) for who in readers} == dict.fromkeys(
        readers, len(CLOCKS)
    )

    elsewhere = ward.client.get(
        PATH,
        params={"ward_id": "w1"} | {name: at.isoformat() for name, at in period.items()},
        headers=ward.headers("manager", ("w2",)),
    )
    unknown = ward.get(PATH, "manager", ward_id="w9", **period)

    assert (elsewhere.status_code, problem_of(elsewhere)["status"]) == (403, 403)
    assert unknown.status_code == 404
