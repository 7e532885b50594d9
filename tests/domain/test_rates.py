"""Ceilings of the rate: of the order, for a child, for a risk of overload, and by component."""

from dataclasses import replace
from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

import pytest

from server.domain.payloads import Issued
from server.domain.picture import picture
from server.domain.policy import Policy
from server.domain.rates import permitted_rate_ml_h
from server.domain.request import Patient
from server.domain.words import Component
from tests.domain.builders import COMMON, PATIENT, POLICIES, at, case, request

RED, PLATELETS = Component.RED_CELLS, Component.PLATELETS
CHILD = replace(PATIENT, birth_date=date(2019, 6, 1), weight_kg=12)
FRAIL = replace(PATIENT, overload_risks=("heart failure",))


def permitted(
    patient: Patient = PATIENT,
    component: Component = RED,
    policy: Policy = COMMON,
    max_rate_ml_h: float | None = None,
) -> tuple[float, str]:
    asked = request(component=component, max_rate_ml_h=max_rate_ml_h)
    return permitted_rate_ml_h(asked, patient, policy, at(0))


@pytest.mark.parametrize(
    ("component", "rate"),
    [
        (RED, 300),
        (PLATELETS, 600),
        (Component.PLASMA, 600),
        (Component.CRYOPRECIPITATE, 600),
        (Component.GRANULOCYTES, 300),
        (Component.WHOLE_BLOOD, 300),
    ],
)
def test_an_adult_has_the_ceiling_of_the_component(component: Component, rate: float) -> None:
    assert permitted(component=component) == (rate, "rate.max_ml_h")


def test_a_risk_of_overload_lowers_it() -> None:
    assert permitted(FRAIL) == (100, "rate.overload_max_ml_h")


@pytest.mark.parametrize("ordered", [40, 400])
def test_the_ceiling_of_the_order_comes_first(ordered: float) -> None:
    assert permitted(FRAIL, max_rate_ml_h=ordered) == (ordered, "order")
    assert permitted(CHILD, max_rate_ml_h=ordered) == (ordered, "order")


def test_a_child_has_a_ceiling_by_weight() -> None:
    assert permitted(CHILD) == (60, "rate.max_ml_kg_h")


@pytest.mark.parametrize(
    ("weight_kg", "ceiling"),
    [
        (29.9, (149.5, "rate.max_ml_kg_h")),
        (30, (150, "rate.max_ml_kg_h")),
        (30.1, (150, "rate.child_cap_ml_h")),
    ],
)
def test_a_child_s_ceiling_is_capped(weight_kg: float, ceiling: tuple[float, str]) -> None:
    assert permitted(replace(CHILD, weight_kg=weight_kg)) == ceiling


def test_the_cap_holds_for_the_components_the_policy_names() -> None:
    heavy = replace(CHILD, weight_kg=40)
    uk = POLICIES["uk"]

    assert permitted(heavy, RED, uk) == (150, "rate.child_cap_ml_h")
    assert permitted(heavy, PLATELETS, uk) == (800, "rate.max_ml_kg_h")
    assert permitted(heavy, PLATELETS) == (150, "rate.child_cap_ml_h")


def test_a_child_that_was_not_weighed_has_the_cap() -> None:
    assert permitted(replace(CHILD, weight_kg=None)) == (150, "rate.child_cap_ml_h")


def test_a_risk_of_overload_lowers_a_child_s_ceiling_only_if_it_is_higher() -> None:
    risks = ("kidney failure",)

    assert permitted(replace(CHILD, overload_risks=risks)) == (60, "rate.max_ml_kg_h")
    assert permitted(replace(CHILD, weight_kg=28, overload_risks=risks)) == (
        100,
        "rate.overload_max_ml_h",
    )


@pytest.mark.parametrize(
    ("birth_date", "ceiling"),
    [
        (date(2010, 3, 4), (150, "rate.child_cap_ml_h")),
        (date(2010, 3, 3), (300, "rate.max_ml_h")),
        (date(2010, 3, 2), (300, "rate.max_ml_h")),
        (None, (300, "rate.max_ml_h")),
    ],
)
def test_a_child_is_one_under_the_age_of_the_policy_on_the_day(
    birth_date: date | None, ceiling: tuple[float, str]
) -> None:
    assert permitted(replace(PATIENT, birth_date=birth_date)) == ceiling


def test_the_day_is_the_ward_s() -> None:
    """22:30 UTC in February is already the next day, the sixteenth birthday, in Auckland."""
    issued = datetime(2026, 2, 28, 22, 30, tzinfo=UTC)
    youth = replace(PATIENT, birth_date=date(2010, 3, 1))
    ceilings = [
        picture(
            case((issued, Issued()), patient=youth, zone=ZoneInfo(zone)), issued
        ).infusion.permitted_rate_ml_h
        for zone in ("UTC", "Pacific/Auckland")
    ]

    assert ceilings == [150, 300]


@pytest.mark.parametrize(
    ("on", "age"),
    [(date(2026, 5, 3), 64), (date(2026, 5, 4), 65), (date(1961, 5, 4), 0)],
)
def test_age_is_full_years(on: date, age: int) -> None:
    assert PATIENT.age_years(on) == age
    assert replace(PATIENT, birth_date=None).age_years(on) is None


@pytest.mark.parametrize(
    ("given_name", "family_name", "initials"),
    [("Ida", "Alder", "I.A."), (" ida", "o'neill", "I.O."), ("", "Alder", "A."), ("", " ", "")],
)
def test_initials_stand_for_a_name(given_name: str, family_name: str, initials: str) -> None:
    patient = replace(PATIENT, given_name=given_name, family_name=family_name)

    assert patient.initials == initials


def test_a_full_name_begins_with_the_family() -> None:
    assert replace(PATIENT, given_name="Ida", family_name="Alder").full_name == "Alder, Ida"
