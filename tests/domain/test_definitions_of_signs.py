"""Each published definition of a reaction at its edges: allergy, lungs, haemolysis."""

import pytest

from server.domain.definition import Charted, Verdict
from server.domain.reaction_signs import signs_of, words_of
from tests.domain.charted import MET, NOT, OPEN, answer, fever, given, look


@pytest.mark.parametrize(
    ("signs", "cdc", "uk", "au"),
    [
        ("", (NOT, ""), (NOT, ""), NOT),
        ("urticaria", (MET, "probable"), (MET, "mild"), MET),
        ("urticaria pruritus", (MET, "definitive"), (MET, "mild"), MET),
        ("skin", (OPEN, ""), (MET, "mild"), MET),
        ("flushing", (NOT, ""), (MET, "mild"), MET),
        ("respiratory_distress", (NOT, ""), (NOT, ""), NOT),
        ("angioedema", (MET, "probable"), (MET, "moderate"), MET),
        ("skin respiratory_distress", (MET, "definitive"), (MET, "moderate"), MET),
        ("nausea", (NOT, ""), (NOT, ""), NOT),
    ],
)
def test_an_allergic_reaction(
    signs: str, cdc: tuple[Verdict, str], uk: tuple[Verdict, str], au: Verdict
) -> None:
    charted = given(signs=signs)

    assert answer("cdc_allergic", charted) == cdc
    assert answer("uk_allergic", charted) == uk
    assert answer("au_allergic", charted)[0] is au


@pytest.mark.parametrize(("hours", "word"), [(2, "allows"), (2.1, "excludes")])
def test_the_time_of_a_definite_link(hours: float, word: str) -> None:
    found = look("cdc_allergic", given(hours=hours, signs="urticaria"))

    assert found is not None
    assert f"the time {word} a definite link" in found.why


@pytest.mark.parametrize(
    ("signs", "hours", "expected"),
    [
        ("", 0, NOT),
        ("respiratory_distress", 0, OPEN),
        ("respiratory_distress fluid_overload biomarker", 12, MET),
        ("respiratory_distress fluid_overload biomarker", 12.01, NOT),
        ("cardiovascular_change fluid_overload biomarker", 0, OPEN),
    ],
)
def test_overload_wants_three_and_one_of_the_lungs(
    signs: str, hours: float, expected: Verdict
) -> None:
    assert answer("isbt_2018_overload", given(hours=hours, signs=signs))[0] is expected


@pytest.mark.parametrize(
    ("charted", "expected"),
    [
        (given(spo2_percent=90), NOT),
        (given(spo2_percent=89), OPEN),
        (given(spo2_percent=89, on_oxygen=True), NOT),
        (given(signs="bilateral_infiltrates"), OPEN),
        (given(signs="respiratory_distress"), OPEN),
        (given(spo2_percent=89, signs="bilateral_infiltrates"), MET),
        (given(spo2_percent=89, signs="bilateral_infiltrates fluid_overload"), OPEN),
        (given(spo2_percent=89, hours=6), OPEN),
        (given(spo2_percent=89, hours=6.01), NOT),
    ],
)
def test_lung_injury(charted: Charted, expected: Verdict) -> None:
    assert answer("consensus_lung_injury", charted)[0] is expected


@pytest.mark.parametrize(
    ("signs", "hours", "expected"),
    [
        ("", 0, NOT),
        ("respiratory_distress", 24, OPEN),
        ("respiratory_distress", 24.01, NOT),
        ("respiratory_distress urticaria", 0, OPEN),
        ("respiratory_distress pulmonary_oedema fluid_overload", 8, NOT),
        ("respiratory_distress pulmonary_oedema fluid_overload", 13, OPEN),
    ],
)
def test_dyspnoea_is_what_the_others_are_not(signs: str, hours: float, expected: Verdict) -> None:
    assert answer("cdc_dyspnoea", given(hours=hours, signs=signs))[0] is expected


@pytest.mark.parametrize(
    ("charted", "expected"),
    [
        (given(), NOT),
        (given(signs="pain"), OPEN),
        (fever(38.2, 36.9), OPEN),
        (fever(38.2), NOT),
    ],
)
def test_haemolysis_is_the_laboratorys_to_say(charted: Charted, expected: Verdict) -> None:
    assert answer("cdc_haemolytic", charted)[0] is expected


def test_symptoms_of_the_ward_become_signs() -> None:
    assert signs_of(("rash", "Rigors", "hears bells", "breathlessness")) == {
        "skin",
        "rigors",
        "hears_bells",
        "respiratory_distress",
    }
    assert words_of({"skin", "pain_at_site"}) == "pain at site, skin"
