"""Prompts: which change from the baseline asks to pause and assess, and in which words."""

from dataclasses import replace
from datetime import date
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from server.domain.baseline import NOTHING_BEFORE, Baseline, Before
from server.domain.payloads import Observed
from server.domain.policy import source_of
from server.domain.prompt_wording import Voice, prompt_text
from server.domain.prompts import Prompt, prompts_for
from server.domain.request import Patient
from server.domain.words import Consciousness
from tests.domain.builders import COMMON, PATIENT, at, with_policy

ON = date(2026, 3, 3)
LONDON = ZoneInfo("Europe/London")
WAS: dict[str, Any] = {
    "temperature_c": 36.9,
    "pulse_per_min": 78,
    "respirations_per_min": 16,
    "systolic_mmhg": 120,
    "spo2_percent": 97,
    "on_oxygen": False,
    "consciousness": Consciousness.ALERT,
}
CHILD = replace(PATIENT, birth_date=date(2008, 3, 4))
ADULT = replace(PATIENT, birth_date=date(2008, 3, 3))


def before(symptoms: tuple[str, ...] = (), **signs: Any) -> Baseline:
    taken = {name: Before(value, at(5)) for name, value in (WAS | signs).items()}
    present = {name: one for name, one in taken.items() if one.value is not None}
    return Baseline(None, present, frozenset(symptoms))


def prompts(
    baseline: Baseline | None = None, patient: Patient = PATIENT, **signs: Any
) -> tuple[Prompt, ...]:
    return prompts_for(Observed(**signs), baseline or before(), COMMON, patient, ON)


def codes(baseline: Baseline | None = None, patient: Patient = PATIENT, **signs: Any) -> list[str]:
    return [prompt.code for prompt in prompts(baseline, patient, **signs)]


def texts(baseline: Baseline | None = None, patient: Patient = PATIENT, **signs: Any) -> list[str]:
    return [prompt_text(one, Voice(LONDON)) for one in prompts(baseline, patient, **signs)]


@pytest.mark.parametrize(
    ("signs", "expected"),
    [
        ({"temperature_c": 37.8}, []),
        ({"temperature_c": 37.9}, ["temperature_rise"]),
        ({"temperature_c": 38.0}, ["temperature_high", "temperature_rise"]),
        ({"systolic_mmhg": 91}, []),
        ({"systolic_mmhg": 90}, ["systolic_drop"]),
        ({"systolic_mmhg": 149}, []),
        ({"systolic_mmhg": 150}, ["systolic_rise"]),
        ({"pulse_per_min": 107}, []),
        ({"pulse_per_min": 108}, ["pulse_rise"]),
        ({"pulse_per_min": 40}, []),
        ({"respirations_per_min": 25}, []),
        ({"respirations_per_min": 26}, ["respirations_rise"]),
        ({"spo2_percent": 94}, []),
        ({"spo2_percent": 93}, ["spo2_fall"]),
        ({"spo2_percent": 90}, ["spo2_fall"]),
        ({"spo2_percent": 89}, ["spo2_low", "spo2_fall"]),
        ({"on_oxygen": False}, []),
        ({"on_oxygen": True}, ["new_oxygen"]),
        ({"consciousness": Consciousness.ALERT}, []),
        ({"consciousness": Consciousness.NEW_CONFUSION}, ["consciousness"]),
        ({"symptoms": ("rash",)}, ["new_symptom"]),
        ({"symptoms": ("rash", "nausea")}, ["new_symptom", "new_symptom"]),
    ],
)
def test_every_criterion_at_its_edge(signs: dict[str, Any], expected: list[str]) -> None:
    assert codes(**signs) == expected


def test_differences_are_exact_in_tenths() -> None:
    """38.1 less 36.9 is 1.2, not a little less than that."""
    assert codes(before(temperature_c=36.3), temperature_c=37.3) == ["temperature_rise"]
    assert codes(before(temperature_c=37.1), temperature_c=38.1) == [
        "temperature_high",
        "temperature_rise",
    ]


def test_a_patient_who_was_hot_before_still_prompts_by_the_absolute_limit() -> None:
    assert codes(before(temperature_c=38.4), temperature_c=38.2) == ["temperature_high"]


@pytest.mark.parametrize(("patient", "expected"), [(CHILD, []), (ADULT, ["systolic_drop"])])
def test_the_drop_of_pressure_of_adults_from_18_on(patient: Patient, expected: list[str]) -> None:
    """120 to 90 is exactly 25 %: a child's has to be more."""
    assert codes(patient=patient, systolic_mmhg=90) == expected


def test_a_childs_pressure_by_per_cent() -> None:
    (one,) = prompts(before(systolic_mmhg=90), CHILD, systolic_mmhg=67)

    assert (one.code, one.rule) == ("systolic_drop", "prompt.systolic_drop_child_percent")
    assert texts(before(systolic_mmhg=90), CHILD, systolic_mmhg=67) == [
        (
            "Pause and assess: systolic pressure 67 mmHg, fallen by 23 mmHg (more than 25 %"
            " in a child) from 90 mmHg at 10:05."
        )
    ]


def test_an_unknown_age_is_judged_as_an_adult() -> None:
    assert codes(patient=replace(PATIENT, birth_date=None), systolic_mmhg=90) == ["systolic_drop"]


def test_without_a_baseline_only_what_stands_by_itself() -> None:
    found = codes(
        NOTHING_BEFORE,
        temperature_c=38.0,
        pulse_per_min=150,
        systolic_mmhg=70,
        spo2_percent=85,
        on_oxygen=True,
        consciousness=Consciousness.VOICE,
        symptoms=("rash",),
    )

    assert found == ["temperature_high", "spo2_low", "consciousness", "new_symptom"]


def test_what_was_there_before_is_not_new() -> None:
    known = before(("rash",), on_oxygen=True, consciousness=Consciousness.VOICE)

    assert codes(known, on_oxygen=True, consciousness=Consciousness.VOICE, symptoms=("rash",)) == []
    assert codes(known, consciousness=Consciousness.PAIN) == ["consciousness"]


def test_oxygen_is_not_called_new_where_nobody_noted_it_before() -> None:
    assert codes(before(on_oxygen=None), on_oxygen=True) == []


def test_the_policy_can_leave_symptoms_and_oxygen_to_the_nurse() -> None:
    policy = with_policy(prompt_new_symptom=False, prompt_new_oxygen=False)
    seen = Observed(on_oxygen=True, consciousness=Consciousness.VOICE, symptoms=("rash",))

    assert prompts_for(seen, before(), policy, PATIENT, ON) == ()


def test_the_words_carry_the_numbers_and_the_criterion() -> None:
    said = texts(
        temperature_c=38.1,
        systolic_mmhg=85,
        pulse_per_min=112,
        respirations_per_min=28,
        spo2_percent=88,
        on_oxygen=True,
        consciousness=Consciousness.NEW_CONFUSION,
        symptoms=("dark_urine",),
    )

    assert said == [
        "Pause and assess: temperature 38.1 °C (38.0 °C or more), 36.9 °C at 10:05.",
        (
            "Pause and assess: temperature 38.1 °C, risen by 1.2 °C (1.0 °C or more) from 36.9 °C"
            " at 10:05."
        ),
        (
            "Pause and assess: systolic pressure 85 mmHg, fallen by 35 mmHg (30 mmHg or more)"
            " from 120 mmHg at 10:05."
        ),
        (
            "Pause and assess: pulse 112 per min, risen by 34 per min (30 per min or more)"
            " from 78 per min at 10:05."
        ),
        (
            "Pause and assess: respirations 28 per min, risen by 12 per min (10 per min or more)"
            " from 16 per min at 10:05."
        ),
        "Pause and assess: SpO₂ 88 % (below 90 %), 97 % at 10:05.",
        "Pause and assess: SpO₂ 88 %, fallen by 9 % (4 % or more) from 97 % at 10:05.",
        "Pause and assess: on oxygen, new since 10:05.",
        "Pause and assess: new confusion, new since 10:05.",
        "Pause and assess: dark urine, new.",
    ]


def test_on_a_ward_that_measures_in_fahrenheit() -> None:
    voice = Voice(LONDON, fahrenheit=True, words=lambda slug: slug.upper())

    said = [prompt_text(one, voice) for one in prompts(temperature_c=38.1, symptoms=("rash",))]

    assert said == [
        "Pause and assess: temperature 100.6 °F (100.4 °F or more), 98.4 °F at 10:05.",
        (
            "Pause and assess: temperature 100.6 °F, risen by 2.2 °F (1.8 °F or more) from 98.4 °F"
            " at 10:05."
        ),
        "Pause and assess: RASH, new.",
    ]


def test_without_anything_before_the_value_stands_alone() -> None:
    assert texts(NOTHING_BEFORE, temperature_c=38.4) == [
        "Pause and assess: temperature 38.4 °C (38.0 °C or more)."
    ]


SIGNS = st.fixed_dictionaries(
    {},
    optional={
        "temperature_c": st.integers(250, 450).map(lambda tenth: tenth / 10),
        "pulse_per_min": st.integers(0, 350),
        "respirations_per_min": st.integers(0, 120),
        "systolic_mmhg": st.integers(0, 350),
        "spo2_percent": st.integers(0, 100),
        "on_oxygen": st.booleans(),
        "consciousness": st.sampled_from(Consciousness),
        "symptoms": st.sampled_from([(), ("rash",), ("rash", "nausea")]),
    },
)


@settings(max_examples=50)
@given(SIGNS.filter(lambda signs: any(value != () for value in signs.values())))
def test_every_prompt_asks_to_pause_names_its_source_and_never_says_to_go_on(
    signs: dict[str, Any],
) -> None:
    for prompt in prompts(**signs):
        text = prompt_text(prompt, Voice(LONDON))
        assert text.startswith("Pause and assess: ")
        assert "continue" not in text
        assert source_of(COMMON, prompt.rule)
