"""Implausible signs: asked about once. The ranges and where they come from stand in the module."""

from dataclasses import replace
from datetime import date
from typing import Any

import pytest

from server.domain.errors import Invalid
from server.domain.payloads import Observed
from server.domain.plausibility import Doubt, doubts, ranges_for
from server.domain.request import Patient
from tests.domain.builders import FULL, PATIENT

ON = date(2026, 3, 3)
TODDLER = replace(PATIENT, birth_date=date(2024, 3, 3))


def asked(patient: Patient = PATIENT, before: tuple[Observed, ...] = (), **signs: Any) -> list[str]:
    found = doubts(Observed(**signs), patient, ON, before)
    return [f"{'low' if one.low else 'high'} {one.field}" for one in found]


@pytest.mark.parametrize(
    ("field", "edges"),
    [
        ("temperature_c", {35.0: "low", 35.1: "", 39.9: "", 40.0: "high"}),
        ("pulse_per_min", {40: "low", 41: "", 130: "", 131: "high"}),
        ("respirations_per_min", {8: "low", 9: "", 24: "", 25: "high"}),
        ("systolic_mmhg", {90: "low", 91: "", 219: "", 220: "high"}),
        ("diastolic_mmhg", {40: "low", 41: "", 119: "", 120: "high"}),
        ("spo2_percent", {91: "low", 92: "", 100: ""}),
    ],
)
def test_an_adults_edges(field: str, edges: dict[float, str]) -> None:
    found = {value: asked(PATIENT, (), **{field: value}) for value in edges}

    assert found == {value: [f"{side} {field}"] if side else [] for value, side in edges.items()}


@pytest.mark.parametrize(
    ("field", "edges"),
    [
        ("temperature_c", {35.5: "low", 35.6: "", 39.4: "", 39.5: "high"}),
        ("pulse_per_min", {79: "low", 80: "", 146: "", 147: "high"}),
        ("respirations_per_min", {17: "low", 18: "", 42: "", 43: "high"}),
        ("systolic_mmhg", {73: "low", 74: "", 220: ""}),
        ("diastolic_mmhg", {20: "", 140: ""}),
        ("spo2_percent", {91: "low", 92: ""}),
    ],
)
def test_the_edges_at_two_years(field: str, edges: dict[float, str]) -> None:
    """Fleming 2011 at 24 months: pulse 80 to 146, respirations 18 to 42; floor 70 + 2 x 2."""
    found = {value: asked(TODDLER, (), **{field: value}) for value in edges}

    assert found == {value: [f"{side} {field}"] if side else [] for value, side in edges.items()}


def test_with_a_recorded_target_of_88_to_92_a_low_spo2_is_expected() -> None:
    hypercapnic = replace(PATIENT, spo2_scale=2)

    assert [asked(hypercapnic, spo2_percent=value) for value in (83, 84, 88)] == [
        ["low spo2_percent"],
        [],
        [],
    ]


def test_without_a_birth_date_as_for_an_adult() -> None:
    unknown = replace(PATIENT, birth_date=None)

    assert ranges_for(unknown, ON) == ranges_for(PATIENT, ON)


def test_an_ordinary_set_is_not_asked_about() -> None:
    assert doubts(FULL, PATIENT, ON) == ()


def test_a_doubt_says_what_it_was_before() -> None:
    earlier = (replace(FULL, pulse_per_min=76), Observed(temperature_c=36.9))

    assert doubts(Observed(pulse_per_min=160), PATIENT, ON, earlier) == (
        Doubt("pulse_per_min", 160, low=False, before=76),
    )


def test_what_was_as_unusual_before_is_not_asked_again() -> None:
    fast = (Observed(pulse_per_min=140),)

    assert asked(before=fast, pulse_per_min=150) == []
    assert asked(before=fast, pulse_per_min=38) == ["low pulse_per_min"]
    assert asked(before=(*fast, Observed(pulse_per_min=90)), pulse_per_min=150) == [
        "high pulse_per_min"
    ]


@pytest.mark.parametrize(
    ("typed", "message"),
    [
        (98.6, "98.6 is impossible; expected 25 to 45. Fahrenheit? 98.6 °F is 37.0 °C"),
        (77, "77 is impossible; expected 25 to 45. Fahrenheit? 77 °F is 25.0 °C"),
        (115, "115 is impossible; expected 25 to 45. Fahrenheit? 115 °F is 46.1 °C"),
        (3.68, "3.68 is impossible; expected 25 to 45. 36.8?"),
        (368, "368 is impossible; expected 25 to 45. 36.8?"),
        (24.9, "24.9 is impossible; expected 25 to 45"),
        (76.9, "76.9 is impossible; expected 25 to 45"),
        (45.1, "45.1 is impossible; expected 25 to 45"),
        (10**15, "a number of that size is impossible; expected 25 to 45"),
        (-(10**400), "a number of that size is impossible; expected 25 to 45"),
    ],
)
def test_an_impossible_temperature_says_which_slip_it_looks_like(
    typed: float, message: str
) -> None:
    with pytest.raises(Invalid) as refused:
        Observed(temperature_c=typed)

    assert (refused.value.field, refused.value.message) == ("temperature_c", message)


@pytest.mark.parametrize(("systolic", "diastolic"), [(80, 80), (79, 80), (0, 0)])
def test_a_systolic_pressure_is_above_the_diastolic(systolic: float, diastolic: float) -> None:
    with pytest.raises(Invalid) as refused:
        Observed(systolic_mmhg=systolic, diastolic_mmhg=diastolic)

    assert (refused.value.field, refused.value.message) == (
        "systolic_mmhg",
        f"{systolic}/{diastolic} is impossible; expected the systolic above the diastolic",
    )


def test_a_pressure_by_itself_is_compared_with_nothing() -> None:
    assert Observed(systolic_mmhg=60).diastolic_mmhg is None
    assert Observed(diastolic_mmhg=60).systolic_mmhg is None
    assert Observed(systolic_mmhg=81, diastolic_mmhg=80).systolic_mmhg == 81
