"""Each published definition of a reaction at its edges: fever and pressure."""

from dataclasses import replace
from typing import Any

import pytest

from server.domain.definition import Charted, Verdict
from server.domain.reaction_definitions import DEFINITIONS
from tests.domain.charted import BY_KEY, MET, NOT, OPEN, answer, fever, given, look


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
