"""Definitions at their edges, and the strongest answer of a whole record."""

from dataclasses import replace
from datetime import date
from typing import Any

import pytest

from server.domain.definition import Charted, Finding, Verdict
from server.domain.fold import fold
from server.domain.payloads import Completed, Observed, ReactionSuspected
from server.domain.picture import Case
from server.domain.reaction_definitions import DEFINITIONS, charted_in, classify
from server.domain.reaction_signs import signs_of, words_of
from tests.domain.builders import FULL, PATIENT, at, case
from tests.domain.builders import running as started

BY_KEY = {definition.key: definition for definition in DEFINITIONS}
MET, OPEN, NOT = Verdict.MET, Verdict.CANNOT_SAY, Verdict.NOT_MET


def given(
    before: dict[str, Any] | None = None, *, hours: float = 0, signs: str = "", **later: Any
) -> Charted:
    return Charted(
        baseline=before or {},
        later=Observed(**later) if later else None,
        hours_after_end=hours,
        age_years=50,
        signs=frozenset(signs.split()),
    )


def fever(now: float, before: float | None = None, **more: Any) -> Charted:
    baseline = None if before is None else {"temperature_c": before}
    return given(baseline, temperature_c=now, **more)


def look(key: str, charted: Charted) -> Finding | None:
    return BY_KEY[key].look(charted)


def answer(key: str, charted: Charted) -> tuple[Verdict, str]:
    found = look(key, charted)
    assert found is not None
    return found.verdict, found.grade


def test_keys_are_told_apart_and_every_definition_names_its_source() -> None:
    assert len(BY_KEY) == len(DEFINITIONS) == 18
    assert all(one.source and one.publisher and one.window_hours > 0 for one in DEFINITIONS)


def test_no_definition_says_what_to_do() -> None:
    texts = " ".join(f"{one.source} {one.lacks} {one.publisher}" for one in DEFINITIONS).lower()

    assert [word for word in ("continue", "may go on", "resume", "restart") if word in texts] == []


@pytest.mark.parametrize(
    ("key", "hours", "inside"),
    [
        ("cdc_febrile", 4, True),
        ("cdc_febrile", 4.01, False),
        ("uk_febrile", 24, True),
        ("uk_febrile", 24.01, False),
        ("au_febrile", 4, True),
        ("lifeblood_febrile", 4.01, False),
        ("nl_febrile", 2, True),
        ("nl_febrile", 2.01, False),
    ],
)
def test_a_window_includes_its_last_instant(key: str, hours: float, inside: bool) -> None:  # noqa: FBT001
    found = look(key, fever(39.2, 37.0, hours=hours))

    assert found is not None
    assert (found.verdict is MET) is inside
    if not inside:
        assert found.why == f"{hours:.1f} h after the end, after its window"


@pytest.mark.parametrize(
    ("now", "before", "expected"),
    [
        (37.9, 36.0, (NOT, "")),
        (38.0, 37.0, (MET, "")),
        (38.0, 37.1, (NOT, "")),
        (38.0, None, (OPEN, "")),
        (37.9, None, (NOT, "")),
    ],
)
def test_cdc_fever(now: float, before: float | None, expected: tuple[Verdict, str]) -> None:
    assert answer("cdc_febrile", fever(now, before)) == expected


@pytest.mark.parametrize(
    ("now", "before", "expected"),
    [
        (38.0, 37.0, (MET, "mild")),
        (38.9, 37.0, (MET, "mild")),
        (38.9, 36.9, (MET, "moderate")),
        (39.0, None, (MET, "moderate")),
        (38.5, None, (OPEN, "")),
        (37.9, 36.5, (NOT, "")),
    ],
)
def test_uk_fever(now: float, before: float | None, expected: tuple[Verdict, str]) -> None:
    assert answer("uk_febrile", fever(now, before)) == expected


@pytest.mark.parametrize(
    ("now", "before", "au", "lifeblood"),
    [
        (38.0, 37.5, (MET, ""), (MET, "mild")),
        (37.5, 36.5, (MET, ""), (MET, "mild")),
        (37.9, 36.4, (MET, ""), (MET, "moderate-severe")),
        (37.4, 36.5, (NOT, ""), (NOT, "")),
        (37.4, None, (OPEN, ""), (OPEN, "")),
        (39.0, None, (MET, ""), (MET, "moderate-severe")),
    ],
)
def test_either_limb(
    now: float,
    before: float | None,
    au: tuple[Verdict, str],
    lifeblood: tuple[Verdict, str],
) -> None:
    charted = fever(now, before)

    assert (answer("au_febrile", charted), answer("lifeblood_febrile", charted)) == (au, lifeblood)


@pytest.mark.parametrize(
    ("now", "before", "expected"),
    [
        (37.5, 36.6, (NOT, "")),
        (37.5, 36.5, (MET, "mild febrile")),
        (38.4, 36.5, (MET, "mild febrile")),
        (38.5, 36.5, (MET, "non-haemolytic febrile")),
        (39.5, None, (OPEN, "")),
    ],
)
def test_trip_looks_at_the_rise_alone(
    now: float, before: float | None, expected: tuple[Verdict, str]
) -> None:
    assert answer("nl_febrile", fever(now, before)) == expected


def test_rigors_count_without_a_temperature_where_the_definition_says_so() -> None:
    rigors = given(signs="rigors")

    assert answer("cdc_febrile", rigors) == (MET, "")
    assert answer("uk_febrile", rigors) == (MET, "moderate")
    assert [look(key, rigors) for key in ("au_febrile", "lifeblood_febrile", "nl_febrile")] == [
        None,
        None,
        None,
    ]


def test_without_a_temperature_nothing_is_said_of_a_fever() -> None:
    nothing = given(pulse_per_min=80)

    assert (look("cdc_febrile", nothing), look("uk_febrile", nothing)) == (None, None)


def test_the_numbers_are_said() -> None:
    risen, fallen = look("cdc_febrile", fever(38.1, 36.9)), look("cdc_febrile", fever(36.5, 37.0))

    assert (risen and risen.why, fallen and fallen.why) == (
        "38.1 °C, rise 1.2 °C",
        "36.5 °C, fall 0.5 °C",
    )


def pressure(now: float, before: float | None = 120, **more: Any) -> Charted:
    baseline = None if before is None else {"systolic_mmhg": before}
    return replace(given(baseline, systolic_mmhg=now), **more)


@pytest.mark.parametrize(
    ("charted", "cdc", "uk"),
    [
        (pressure(80), MET, MET),
        (pressure(81), NOT, NOT),
        (pressure(80, 110), MET, MET),
        (pressure(80, 109), NOT, NOT),
        (pressure(80, 75), NOT, NOT),
        (pressure(80, None), OPEN, OPEN),
        (pressure(90, age_years=17), NOT, OPEN),
        (pressure(89, age_years=17), MET, OPEN),
        (pressure(89, age_years=1), MET, OPEN),
        (pressure(121, age_years=1), NOT, OPEN),
        (pressure(89, age_years=None), OPEN, OPEN),
        (pressure(80, hours_after_end=1.0), MET, MET),
        (pressure(80, hours_after_end=1.01), NOT, NOT),
    ],
)
def test_a_low_pressure(charted: Charted, cdc: Verdict, uk: Verdict) -> None:
    assert answer("cdc_hypotensive", charted)[0] is cdc
    assert answer("uk_hypotensive", charted)[0] is uk


@pytest.mark.parametrize(
    "who",
    [{"age_years": 0}, {"age_years": 3, "weight_kg": 11.9}, {"age_years": 40, "weight_kg": 11}],
)
def test_in_an_infant_or_under_12_kg_any_pressure_counts(who: dict[str, Any]) -> None:
    small = replace(given({"diastolic_mmhg": 40}, diastolic_mmhg=29), **who)

    assert answer("cdc_hypotensive", small)[0] is MET


def test_in_an_older_child_only_the_systolic_counts() -> None:
    older = replace(given({"diastolic_mmhg": 40}, diastolic_mmhg=29), age_years=3, weight_kg=14)

    assert look("cdc_hypotensive", older) is None


@pytest.mark.parametrize(
    ("before", "later", "expected"),
    [
        ({"systolic_mmhg": 120}, {"systolic_mmhg": 90}, NOT),
        ({"systolic_mmhg": 120}, {"systolic_mmhg": 89}, MET),
        ({"diastolic_mmhg": 80}, {"diastolic_mmhg": 49}, MET),
        ({"diastolic_mmhg": 80}, {"diastolic_mmhg": 85}, NOT),
    ],
)
def test_new_zealand_takes_either_pressure(
    before: dict[str, Any], later: dict[str, Any], expected: Verdict
) -> None:
    assert answer("nz_hypotensive", given(before, **later))[0] is expected


def test_without_a_pressure_nothing_is_said_of_it() -> None:
    nothing = given(pulse_per_min=80)
    ageless = replace(nothing, age_years=None)

    keys = ("cdc_hypotensive", "uk_hypotensive", "nz_hypotensive")
    assert [look(key, one) for key in keys for one in (nothing, ageless)] == [None] * 6


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


def classified(record: Case) -> dict[str, tuple[Verdict, str, object]]:
    episode = fold(record.request, record.events)
    return {
        one.definition.key: (one.finding.verdict, one.finding.grade, one.at)
        for one in classify(charted_in(record, episode))
    }


def test_the_strongest_answer_of_a_record_stands() -> None:
    hot = replace(FULL, temperature_c=39.4)
    record = started(
        (5, FULL),
        (25, replace(FULL, temperature_c=38.0)),
        (40, hot),
        (50, hot),
        (60, ReactionSuspected(("rigors", "rash"))),
        (70, Completed()),
        (240, replace(FULL, temperature_c=38.1, symptoms=("itch",))),
    )

    found = classified(record)

    assert found["cdc_febrile"] == (MET, "", at(25))
    assert found["uk_febrile"] == (MET, "moderate", at(40))
    assert found["nl_febrile"] == (MET, "non-haemolytic febrile", at(40))
    assert found["cdc_allergic"] == (MET, "probable", at(240))
    assert found["cdc_hypotensive"] == (NOT, "", at(25))
    assert found["cdc_haemolytic"] == (OPEN, "", at(25))


def test_hours_count_from_the_end_and_are_none_before_it() -> None:
    record = started((5, FULL), (25, FULL), (60, Completed()), (90, FULL))
    episode = fold(record.request, record.events)

    assert [(when, one.hours_after_end) for when, one in charted_in(record, episode)] == [
        (at(25), 0.0),
        (at(90), 0.5),
    ]


def test_what_was_there_before_is_no_sign_of_a_reaction() -> None:
    record = started(
        (5, replace(FULL, symptoms=("rash",))), (25, replace(FULL, symptoms=("rash",)))
    )

    assert classified(record)["uk_allergic"] == (NOT, "", at(25))


def test_ages_and_weights_are_those_of_the_patient() -> None:
    child = replace(PATIENT, birth_date=date(2020, 1, 1), weight_kg=18)
    record = started((5, FULL), (25, FULL), patient=child)
    ((_, one),) = charted_in(record, fold(record.request, record.events))

    assert (one.age_years, one.weight_kg) == (6, 18)


def test_an_unstarted_unit_has_nothing_to_classify() -> None:
    found = classified(case((0, FULL)))

    assert set(found.values()) == {(OPEN, "", None)}
