"""What the interface says of a set of vital signs: the score, a child's signs, prompts."""

from datetime import timedelta
from typing import Any, Final

import pytest

from tests.api.board_api import FULL_SET, NOON, PATIENT, BoardApi, fields_of, problem_of

SCORED: Final[dict[str, Any]] = {
    **FULL_SET,
    "spo2_percent": 97,
    "on_oxygen": False,
    "consciousness": "alert",
}
BASELINE: Final = {**SCORED, "temperature_c": 36.9, "systolic_mmhg": 120, "diastolic_mmhg": 70}


def minutes(count: float) -> Any:
    return NOON + timedelta(minutes=count)


def running(api: BoardApi, **patient: Any) -> str:
    """A unit of patient `p1`, issued at noon and started at 12:10 with a baseline at 12:05."""
    api.ward()
    episode = api.episode()
    api.clock.now = minutes(60)
    if patient:
        api.made("/api/patients", {"id": "p1", **PATIENT, **patient})
    api.record(episode, "issued", NOON)
    api.record(
        episode, "inspected", NOON, leak=False, clots=False, discoloured=False, damaged=False
    )
    api.observe("p1", minutes(5), **BASELINE)
    checked: dict[str, Any] = {
        "first_by": "n1",
        "second_by": "n2",
        "items": [{"item": "name", "matched": True}],
    }
    api.record(episode, "identity_checked", minutes(9), **checked)
    api.record(episode, "started", minutes(10), rate_ml_h=60)
    return episode


def last(api: BoardApi, episode: str) -> dict[str, Any]:
    said: dict[str, Any] = api.get(f"/api/episodes/{episode}").json()["observations"][-1]
    return said


def test_a_full_set_of_an_adult_has_its_score(api: BoardApi) -> None:
    episode = running(api)
    api.observe("p1", minutes(25), **SCORED | {"respirations_per_min": 22, "spo2_percent": 95})

    assert last(api, episode)["news2"] == {
        "score": 3,
        "risk": "low",
        "subscores": {
            "respiration_rate": 2,
            "spo2": 1,
            "air_or_oxygen": 0,
            "systolic_bp": 0,
            "pulse": 0,
            "consciousness": 0,
            "temperature": 0,
        },
        "single_three": False,
        "spo2_scale": 1,
        "frequency": "every 4 to 6 h",
        "response": (
            "A registered nurse assesses, and decides how often to observe and whether to escalate."
        ),
        "source": "Royal College of Physicians, NEWS2, 2017, charts 1, 2 and 4",
    }


@pytest.mark.parametrize(
    ("patient", "signs", "reason"),
    [
        ({}, FULL_SET, "incomplete set: SpO2, air or oxygen, consciousness not recorded"),
        ({"birth_date": "2015-01-01"}, SCORED, "under 16: use the paediatric chart"),
        ({"pregnant": True}, SCORED, "pregnant or recently pregnant: use the maternity chart"),
    ],
)
def test_no_score_has_its_reason_and_is_never_0(
    api: BoardApi, patient: dict[str, Any], signs: dict[str, Any], reason: str
) -> None:
    episode = running(api, **patient)
    api.observe("p1", minutes(25), **signs)

    assert last(api, episode)["news2"] == {"not_calculated": reason}


def test_the_second_scale_is_a_decision_about_the_patient(api: BoardApi) -> None:
    episode = running(api, spo2_scale=2)
    api.observe("p1", minutes(25), **SCORED | {"spo2_percent": 93, "on_oxygen": True})

    score = last(api, episode)["news2"]
    assert (score["spo2_scale"], score["subscores"]["spo2"], score["score"]) == (2, 1, 3)


def test_a_childs_signs_against_references(api: BoardApi) -> None:
    episode = running(api, birth_date="2022-03-03")
    api.observe("p1", minutes(25), pulse_per_min=140, respirations_per_min=24, systolic_mmhg=77)

    fleming = "Fleming et al., Lancet 2011;377:1011-18, centiles of healthy children awake"
    assert last(api, episode)["child"] == {
        "pulse": {
            "value": 140,
            "band": "above the 99th centile",
            "p1": 69,
            "p10": 84,
            "p50": 102,
            "p90": 121,
            "p99": 134,
            "source": fleming,
        },
        "respirations": {
            "value": 24,
            "band": "between the 10th and the 90th centile",
            "p1": 17,
            "p10": 20,
            "p50": 24,
            "p90": 28,
            "p99": 31,
            "source": fleming,
        },
        "systolic": {
            "value": 77,
            "floor_mmhg": 78,
            "below": True,
            "source": "Pediatric Advanced Life Support: lowest systolic pressure by age",
        },
    }


def test_an_adult_has_no_childs_signs_and_what_was_not_taken_is_null(api: BoardApi) -> None:
    episode = running(api)
    assert last(api, episode)["child"] is None

    api.made("/api/patients", {"id": "p1", **PATIENT, "birth_date": "2022-03-03"})
    api.observe("p1", minutes(25), temperature_c=36.8)
    assert last(api, episode)["child"] == {"pulse": None, "respirations": None, "systolic": None}


def test_a_change_from_the_baseline_prompts_with_numbers_and_source(api: BoardApi) -> None:
    episode = running(api)
    api.observe("p1", minutes(25), **SCORED | {"temperature_c": 38.1}, symptoms=["rash"])

    prompts = last(api, episode)["prompts"]

    assert [(one["code"], one["detail"]) for one in prompts] == [
        (
            "temperature_high",
            "Pause and assess: temperature 38.1 °C (38.0 °C or more), 36.9 °C at 12:05.",
        ),
        (
            "temperature_rise",
            (
                "Pause and assess: temperature 38.1 °C, risen by 1.2 °C (1.0 °C or more) from"
                " 36.9 °C at 12:05."
            ),
        ),
        ("new_symptom", "Pause and assess: rash, new."),
    ]
    assert prompts[0]["source"].startswith("CDC NHSN Hemovigilance Module")
    assert prompts[2]["source"].startswith("BSH, Investigation and Management")


def test_a_partial_set_charted_on_the_unit_prompts_too(api: BoardApi) -> None:
    episode = running(api)
    api.record(episode, "observed", minutes(25), systolic_mmhg=88, diastolic_mmhg=60)

    said = last(api, episode)
    assert ([one["code"] for one in said["prompts"]], said["complete"]) == (
        ["systolic_drop"],
        False,
    )


def test_the_baseline_itself_raises_no_prompt(api: BoardApi) -> None:
    episode = running(api)

    assert last(api, episode)["prompts"] == []


def test_as_of_an_earlier_instant_the_prompts_of_then(api: BoardApi) -> None:
    episode = running(api)
    api.observe("p1", minutes(25), **SCORED | {"temperature_c": 38.1})

    earlier = api.get(f"/api/episodes/{episode}", at=minutes(20)).json()["observations"]

    assert [(len(earlier), one["prompts"]) for one in earlier] == [(1, [])]


def test_fahrenheit_in_a_celsius_field_is_caught(api: BoardApi) -> None:
    episode = running(api)
    there = [
        api.post("/api/patients/p1/observations", {"happened_at": NOON, "temperature_c": 98.6}),
        api.refused(episode, "observed", minutes(25), temperature_c=98.6),
    ]

    assert [fields_of(answer) for answer in there] == [["temperature_c"], ["temperature_c"]]
    assert {problem_of(answer)["errors"][0]["message"] for answer in there} == {
        "98.6 is impossible; expected 25 to 45. Fahrenheit? 98.6 °F is 37.0 °C"
    }


@pytest.mark.parametrize(
    ("signs", "field"),
    [
        ({"temperature_c": 3.68}, "temperature_c"),
        ({"temperature_c": 77}, "temperature_c"),
        ({"temperature_c": 115}, "temperature_c"),
        ({"temperature_c": 24.9}, "temperature_c"),
        ({"temperature_c": 45.1}, "temperature_c"),
        ({"temperature_c": "36.8"}, "temperature_c"),
        ({"temperature_c": True}, "temperature_c"),
        ({"systolic_mmhg": 80, "diastolic_mmhg": 80}, "systolic_mmhg"),
        ({"spo2_percent": 101}, "spo2_percent"),
        ({"pulse_per_min": 351}, "pulse_per_min"),
    ],
)
def test_the_impossible_is_refused(api: BoardApi, signs: dict[str, Any], field: str) -> None:
    api.ward()
    api.episode()

    answer = api.post("/api/patients/p1/observations", {"happened_at": NOON, **signs})

    assert fields_of(answer) == [field]


@pytest.mark.parametrize(
    "signs",
    [
        {"temperature_c": 25.0},
        {"temperature_c": 45.0},
        {"spo2_percent": 40},
        {"systolic_mmhg": 45, "diastolic_mmhg": 20},
        {"pulse_per_min": 220},
        {"temperature_c": None, "respirations_per_min": 0},
    ],
)
def test_the_implausible_is_a_programs_to_judge(api: BoardApi, signs: dict[str, Any]) -> None:
    api.ward()
    api.episode()

    answer = api.post("/api/patients/p1/observations", {"happened_at": NOON, **signs})

    assert answer.status_code == 201
