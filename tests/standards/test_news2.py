"""NEWS2 at every edge of every band, its levels of risk, and when there is no score.

Source: Royal College of Physicians, National Early Warning Score (NEWS) 2, 2017, ISBN
978-1-86016-682-2, charts 1, 2 and 4 (chart 1 read in full, the thresholds in a table of the
college's journal). That a missing sign leaves no total is our reading: from memory.
"""

from dataclasses import fields, replace
from datetime import date
from typing import Any

import pytest

from server.domain.news2 import News2, NotCalculated, Risk, news2, risk_of, tenths, whole
from server.domain.payloads import Observed
from server.domain.request import Patient
from server.domain.words import Consciousness
from tests.domain.builders import PATIENT

ON = date(2026, 3, 3)
WELL = Observed(
    temperature_c=36.9,
    pulse_per_min=82,
    respirations_per_min=17,
    systolic_mmhg=124,
    spo2_percent=97,
    on_oxygen=False,
    consciousness=Consciousness.ALERT,
)
HYPERCAPNIC = replace(PATIENT, spo2_scale=2)
ZERO = {
    "respiration_rate": 0,
    "spo2": 0,
    "air_or_oxygen": 0,
    "systolic_bp": 0,
    "pulse": 0,
    "consciousness": 0,
    "temperature": 0,
}


def scored(patient: Patient = PATIENT, **signs: Any) -> News2:
    result = news2(replace(WELL, **signs), patient, ON)
    assert isinstance(result, News2)
    return result


def reason(patient: Patient = PATIENT, on: date = ON, **signs: Any) -> str:
    result = news2(replace(WELL, **signs), patient, on)
    assert isinstance(result, NotCalculated)
    return result.reason


@pytest.mark.parametrize(
    ("sign", "field", "values"),
    [
        ("respiration_rate", "respirations_per_min",
         {0: 3, 8: 3, 9: 1, 11: 1, 12: 0, 20: 0, 21: 2, 24: 2, 25: 3, 120: 3}),
        ("spo2", "spo2_percent", {0: 3, 91: 3, 92: 2, 93: 2, 94: 1, 95: 1, 96: 0, 100: 0}),
        ("systolic_bp", "systolic_mmhg",
         {0: 3, 90: 3, 91: 2, 100: 2, 101: 1, 110: 1, 111: 0, 219: 0, 220: 3, 350: 3}),
        ("pulse", "pulse_per_min",
         {0: 3, 40: 3, 41: 1, 50: 1, 51: 0, 90: 0, 91: 1, 110: 1, 111: 2, 130: 2, 131: 3, 350: 3}),
        ("temperature", "temperature_c",
         {25.0: 3, 35.0: 3, 35.1: 1, 36.0: 1, 36.1: 0, 37.9: 0, 38.0: 0, 38.1: 1, 39.0: 1,
          39.1: 2, 45.0: 2}),
    ],
)  # fmt: skip
def test_every_edge_of_chart_1(sign: str, field: str, values: dict[float, int]) -> None:
    found = {value: scored(PATIENT, **{field: value}).subscores[sign] for value in values}

    assert found == values


def test_the_second_scale_of_spo2_on_air() -> None:
    values = {0: 3, 83: 3, 84: 2, 85: 2, 86: 1, 87: 1, 88: 0, 92: 0, 93: 0, 100: 0}

    found = {value: scored(HYPERCAPNIC, spo2_percent=value).subscores["spo2"] for value in values}

    assert found == values


def test_the_second_scale_of_spo2_on_oxygen() -> None:
    values = {83: 3, 84: 2, 85: 2, 86: 1, 87: 1, 88: 0, 92: 0, 93: 1, 94: 1, 95: 2, 96: 2, 97: 3}

    found = {
        value: scored(HYPERCAPNIC, spo2_percent=value, on_oxygen=True).subscores["spo2"]
        for value in values
    }

    assert found == values


@pytest.mark.parametrize("scale", [None, 1])
def test_the_second_scale_needs_a_recorded_decision_not_oxygen(scale: int | None) -> None:
    """The scales differ by the target, not by whether the patient has oxygen."""
    result = scored(replace(PATIENT, spo2_scale=scale), spo2_percent=93, on_oxygen=True)

    assert (result.subscores["spo2"], result.spo2_scale) == (2, 1)
    assert scored(HYPERCAPNIC).spo2_scale == 2


def test_oxygen_and_consciousness() -> None:
    levels = {level: scored(consciousness=level).score for level in Consciousness}

    assert levels == {
        Consciousness.ALERT: 0,
        Consciousness.NEW_CONFUSION: 3,
        Consciousness.VOICE: 3,
        Consciousness.PAIN: 3,
        Consciousness.UNRESPONSIVE: 3,
    }
    assert scored(on_oxygen=True).subscores == ZERO | {"air_or_oxygen": 2}


@pytest.mark.parametrize(
    ("value", "score"), [(38.04, 0), (38.05, 1), (35.04, 3), (35.05, 1), (39.05, 2)]
)
def test_a_temperature_is_rounded_to_a_tenth_before_it_is_banded(value: float, score: int) -> None:
    assert scored(temperature_c=value).subscores["temperature"] == score


def test_halves_round_away_from_zero() -> None:
    assert (tenths(38.05), tenths(38.049), tenths(37.0), tenths(98.65)) == (381, 380, 370, 987)
    assert (whole(20.5), whole(20.4), whole(0.5)) == (21, 20, 1)


@pytest.mark.parametrize(
    ("score", "single_three", "risk"),
    [
        (0, False, Risk.LOW),
        (1, False, Risk.LOW),
        (4, False, Risk.LOW),
        (3, True, Risk.LOW_MEDIUM),
        (4, True, Risk.LOW_MEDIUM),
        (5, False, Risk.MEDIUM),
        (5, True, Risk.MEDIUM),
        (6, True, Risk.MEDIUM),
        (7, False, Risk.HIGH),
        (20, True, Risk.HIGH),
    ],
)
def test_the_level_of_a_total(score: int, single_three: bool, risk: Risk) -> None:  # noqa: FBT001
    assert risk_of(score, single_three) is risk


@pytest.mark.parametrize(
    ("signs", "risk", "frequency"),
    [
        ({}, "low", "at least every 12 h"),
        ({"on_oxygen": True}, "low", "every 4 to 6 h"),
        ({"pulse_per_min": 40}, "low-medium", "at least every hour"),
        ({"pulse_per_min": 40, "on_oxygen": True}, "medium", "at least every hour"),
        ({"pulse_per_min": 40, "systolic_mmhg": 90, "spo2_percent": 95}, "high", "continuously"),
    ],
)
def test_the_published_response(signs: dict[str, Any], risk: str, frequency: str) -> None:
    """Charts 2 and 4, in our own words."""
    result = scored(**signs)

    assert (result.risk.value, result.published.frequency) == (risk, frequency)
    assert "continue" not in result.published.response


def test_one_sign_that_scores_three_is_said() -> None:
    assert (scored(pulse_per_min=40).single_three, scored(pulse_per_min=50).single_three) == (
        True,
        False,
    )


@pytest.mark.parametrize(
    ("born", "on", "calculated"),
    [
        (date(2010, 3, 4), ON, False),
        (date(2010, 3, 3), ON, True),
        (date(2010, 3, 2), ON, True),
        (date(2026, 3, 3), ON, False),
    ],
)
def test_it_is_for_16_and_over_from_the_birthday_on(
    born: date,
    on: date,
    calculated: bool,  # noqa: FBT001
) -> None:
    result = news2(WELL, replace(PATIENT, birth_date=born), on)

    assert isinstance(result, News2) is calculated


def test_why_there_is_no_score() -> None:
    child, pregnant = replace(PATIENT, birth_date=date(2020, 1, 1)), replace(PATIENT, pregnant=True)
    unknown = replace(PATIENT, birth_date=None)

    assert [reason(child), reason(pregnant), reason(unknown)] == [
        "under 16: use the paediatric chart",
        "pregnant or recently pregnant: use the maternity chart",
        "the birth date is not recorded, and the score is for patients of 16 and over",
    ]
    assert scored(replace(PATIENT, pregnant=False)).score == 0


@pytest.mark.parametrize(
    ("field", "words", "sign"),
    [
        ("respirations_per_min", "respirations", "respiration_rate"),
        ("spo2_percent", "SpO2", "spo2"),
        ("on_oxygen", "air or oxygen", "air_or_oxygen"),
        ("systolic_mmhg", "systolic pressure", "systolic_bp"),
        ("pulse_per_min", "pulse", "pulse"),
        ("consciousness", "consciousness", "consciousness"),
        ("temperature_c", "temperature", "temperature"),
    ],
)
def test_an_incomplete_set_has_its_sub_scores_and_no_total(
    field: str, words: str, sign: str
) -> None:
    """Never 0: a sign that was not taken is not a sign that is well. From memory."""
    result = news2(replace(WELL, **{field: None}), PATIENT, ON)  # type: ignore[arg-type]

    others = {name: score for name, score in ZERO.items() if name != sign}
    assert result == NotCalculated(f"incomplete set: {words} not recorded", others)


def test_by_the_second_scale_spo2_has_no_sub_score_while_the_gas_is_unknown() -> None:
    result = news2(replace(WELL, on_oxygen=None), HYPERCAPNIC, ON)

    assert "spo2" not in result.subscores


def test_all_that_is_missing_is_named() -> None:
    result = news2(Observed(pulse_per_min=80), PATIENT, ON)

    assert result == NotCalculated(
        "incomplete set: respirations, SpO2, air or oxygen, systolic pressure, consciousness, "
        "temperature not recorded",
        {"pulse": 0},
    )


def test_a_child_gets_no_sub_scores_either() -> None:
    child = replace(PATIENT, birth_date=date(2024, 1, 1))

    assert news2(WELL, child, ON).subscores == {}


def test_the_range_of_totals_is_0_to_20() -> None:
    worst = scored(
        temperature_c=34.5,
        pulse_per_min=140,
        respirations_per_min=7,
        systolic_mmhg=85,
        spo2_percent=80,
        on_oxygen=True,
        consciousness=Consciousness.UNRESPONSIVE,
    )

    assert (scored().score, worst.score, worst.risk) == (0, 20, Risk.HIGH)
    assert {field.name for field in fields(News2)} >= {"score", "risk", "subscores"}


@pytest.mark.parametrize(
    ("signs", "score"),
    [
        ({"temperature_c": 38.1, "pulse_per_min": 104}, 2),
        ({"systolic_mmhg": 90}, 3),
        ({"systolic_mmhg": 168}, 0),
    ],
)
def test_it_is_no_detector_of_reactions(signs: dict[str, Any], score: int) -> None:
    """A fever by the CDC's definition scores 2; overload with 168 mmHg nothing for the pressure."""
    assert scored(**signs).score == score
