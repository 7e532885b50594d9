"""A suspected reaction over the interface: clocks, steps, held units, warnings, permissions."""

from datetime import datetime, timedelta
from typing import Any

import pytest

from tests.api.board_api import CHECKED, NOON, SOUND, BoardApi, fields_of, problem_of

ISSUED = NOON.replace(hour=10)
STARTED = ISSUED + timedelta(minutes=10)
EVENTS = "/api/episodes/{}/events"


def at(minutes: float) -> datetime:
    """So many minutes after the suspicion."""
    return NOON.replace(hour=11) + timedelta(minutes=minutes)


@pytest.fixture
def suspected(ward: BoardApi) -> BoardApi:
    """Unit `e1` runs since 10:10 and a reaction is suspected at 11:00; `e2` of `p2` is issued."""
    ward.start("e1", ISSUED)
    ward.episode("2")
    ward.record("e2", "issued", ISSUED, unit_number="G7")
    ward.record("e1", "reaction_suspected", at(0), symptoms=["rigors", "sweats"])
    return ward


def send(api: BoardApi, unit: str, who: str, kind: str, when: datetime, **payload: Any) -> Any:
    body = {"kind": kind, "happened_at": when, **payload}
    return api.post(EVENTS.format(unit), body, who)


def reason(api: BoardApi, episode_id: str, when: datetime) -> str:
    rows = api.get("/api/board", ward_id="w1", at=when).json()["rows"]
    return next(str(row["reason"]) for row in rows if row["episode_id"] == episode_id)


def test_its_checks_are_clocks_like_any_other(suspected: BoardApi) -> None:
    first = suspected.clock_of("e1", "reaction_check", at(1))
    suspected.observe("p1", at(4))

    second = suspected.clock_of("e1", "reaction_check", at(25))

    assert first == {
        "clock": "reaction_check",
        "n": 1,
        "opens_at": "2026-03-03T11:00:00Z",
        "due_at": "2026-03-03T11:00:00Z",
        "limit_at": "2026-03-03T11:05:00Z",
        "met_at": None,
        "state": "due",
        "source": first["source"],
    }
    assert "every 15 min" in first["source"]
    assert (second["n"], second["due_at"], second["state"]) == (
        2,
        "2026-03-03T11:19:00Z",
        "overdue",
    )
    due = suspected.get("/api/due", ward_id="w1").json()
    assert ("e1", "reaction_check", 2) in [
        (one["episode_id"], one["clock"], one["n"]) for one in due
    ]


def test_a_step_that_is_not_known_is_kept_as_it_is(suspected: BoardApi) -> None:
    said = suspected.record("e1", "reaction_step", at(1), step="rang the daughter")

    assert said["episode"]["events"][-1]["step"] == "rang the daughter"
    assert said["episode"]["urgency"]["level"] == "reaction"


@pytest.mark.parametrize(
    ("payload", "field"),
    [
        ({"step": "recheck_identity", "result": "fine"}, "result"),
        ({"step": "stop", "result": "agrees"}, "result"),
        ({"step": " "}, "step"),
        ({"step": "x" * 201}, "step"),
        ({}, "step"),
    ],
)
def test_an_impossible_step_is_refused_by_field(
    suspected: BoardApi, payload: dict[str, Any], field: str
) -> None:
    answer = send(suspected, "e1", "bedside_nurse", "reaction_step", at(1), **payload)

    assert fields_of(answer) == [field]


def test_too_many_symptoms_are_refused(suspected: BoardApi) -> None:
    answer = suspected.refused("e1", "reaction_suspected", at(1), symptoms=["x"] * 51)

    assert fields_of(answer) == ["symptoms"]


def test_the_patients_other_unit_is_held(suspected: BoardApi) -> None:
    again = {"id": "e3", "patient_id": "p1", "ward_id": "w1", "bed": "1"}
    suspected.made("/api/episodes", again | {"component": "plasma", "volume_ml": 200})
    suspected.record("e3", "issued", at(1))
    suspected.record("e3", "inspected", at(2), **SOUND)
    suspected.record("e3", "identity_checked", at(2), **CHECKED)

    refused = suspected.refused("e3", "started", at(3), rate_ml_h=60)

    assert refused.status_code == 409
    assert (
        "suspected with another unit of this patient (bed 1, red cells)"
        in (problem_of(refused)["detail"])
    )
    assert reason(suspected, "e3", at(3)).startswith(
        "Held: suspected reaction since 11:00 in bed 1"
    )
    suspected.record("e1", "reaction_closed", at(10), outcome="no reaction")
    suspected.record("e3", "started", at(11), rate_ml_h=60)


def test_a_wrong_unit_warns_the_ward_until_the_charge_nurse_has_checked(
    suspected: BoardApi,
) -> None:
    suspected.record(
        "e1", "reaction_step", at(2), step="recheck_identity", result="wrong_unit_or_patient"
    )
    phone = "Phone the laboratory at once: identity error in bed 1. "
    assert reason(suspected, "e2", at(3)).startswith(phone)
    advices = suspected.get("/api/episodes/e2", at=at(3)).json()["advices"]
    assert "linked_warning" in [one["code"] for one in advices]

    for who in ("bedside_nurse", "manager", "administrator", "interface"):
        answer = send(suspected, "e2", who, "warning_checked", at(4), text="agrees")
        assert (who, answer.status_code) == (who, 403)
    answer = send(suspected, "e2", "charge_nurse", "warning_checked", at(5), text="agrees")

    assert answer.status_code == 201
    assert not reason(suspected, "e2", at(6)).startswith("Phone")
    again = send(suspected, "e2", "charge_nurse", "warning_checked", at(7), text="agrees")
    assert again.status_code == 409


@pytest.mark.parametrize("who", ["manager", "administrator"])
@pytest.mark.parametrize(
    ("kind", "payload"),
    [
        ("reaction_suspected", {"symptoms": []}),
        ("reaction_step", {"step": "stop"}),
        ("reaction_closed", {"outcome": "none"}),
        ("warned", {"episode_id": "e2", "bed": "2"}),
    ],
)
def test_who_does_not_chart_records_nothing_of_it(
    suspected: BoardApi, who: str, kind: str, payload: dict[str, Any]
) -> None:
    answer = send(suspected, "e1", who, kind, at(1), **payload)

    assert answer.status_code == 403


def test_a_unit_is_resumed_by_the_decision_of_a_clinician(suspected: BoardApi) -> None:
    suspected.record("e1", "paused", at(1))

    refused = suspected.refused("e1", "resumed", at(2))
    said = suspected.record("e1", "resumed", at(3), decided_by="Dr Ash")

    assert refused.status_code == 409
    assert "name the clinician who decided" in problem_of(refused)["detail"]
    assert said["episode"]["phase"] == "running"


def test_the_interface_records_what_it_is_told_and_nothing_beside(suspected: BoardApi) -> None:
    """A program states each fact: ticking "stop" here records no pause."""
    said = suspected.record("e1", "reaction_step", at(1), step="stop")

    assert (said["episode"]["phase"], said["episode"]["events"][-1]["kind"]) == (
        "running",
        "reaction_step",
    )
