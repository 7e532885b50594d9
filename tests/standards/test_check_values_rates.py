"""Published check values 13 to 16: how fast, for how long, and how many drops."""

from dataclasses import replace
from datetime import date

import pytest

from server.domain.infusion import drops_per_min
from server.domain.payloads import Issued, SetChanged, SetHung, Started
from server.domain.rates import ordered_rate_ml_h
from server.domain.words import Component, Level
from tests.domain.builders import COMMON, PATIENT, POLICIES, Fact, at, case, facts_from, look, near

CHILD = replace(PATIENT, birth_date=date(2022, 8, 1), weight_kg=12)
REMOVED = (0, Issued())


def test_13_a_child_of_12_kg_has_180_ml_in_three_hours_if_started_within_one() -> None:
    """JPAC 10.3: not above 5 mL/kg/h, 60 mL/h here; 3 h 00 fit 4 h from 11:00 at the latest."""
    given = case(REMOVED, volume_ml=180, patient=CHILD, policy=POLICIES["uk"])
    infusion = look(given, at(1)).infusion

    assert (infusion.permitted_rate_ml_h, infusion.latest_start_at) == (60, at(60))


def test_13_250_ml_cannot_be_in_for_the_same_child() -> None:
    """JPAC 10.3: 250 mL at 60 mL/h are 4 h 10, ten minutes more than there are."""
    given = case(REMOVED, volume_ml=250, patient=CHILD, policy=POLICIES["uk"])
    seen = look(given, at(0))

    assert (seen.infusion.latest_start_at, seen.infusion.cannot_finish) == (at(-10), True)
    assert seen.urgency.level is Level.AT_RISK
    assert seen.urgency.reason == (
        "Not started; 09:50 was the latest start at 60 mL/h to end by 14:00."
    )


def test_14_platelets_for_a_child_of_12_kg() -> None:
    """JPAC 10.3: 10 to 20 mL/kg at 10 to 20 mL/kg/h, so 120 to 240 mL at 120 to 240 mL/h."""
    given = case(
        REMOVED,
        volume_ml=20 * 12,
        component=Component.PLATELETS,
        patient=CHILD,
        policy=POLICIES["uk"],
    )
    infusion = look(given, at(0)).infusion

    assert (infusion.left_ml, infusion.permitted_rate_ml_h) == (240, 240)
    assert (10 * 12, POLICIES["uk"].rate_max_ml_kg_h[Component.PLATELETS]) == (120, 20)


@pytest.mark.parametrize(("drops_per_ml", "drops"), [(20, 50), (15, 38), (10, 25)])
def test_15_300_ml_over_two_hours_in_drops(drops_per_ml: int, drops: int) -> None:
    """Arithmetic; Banc de Sang i Teixits gives 30 to 60 drops/min for red cells."""
    assert drops_per_min(300 / 2, drops_per_ml) == drops


def test_15_a_running_unit_shows_its_drops() -> None:
    """Common practice, no source: 20 drops/mL is usual for blood sets."""
    given = case(REMOVED, (10, Started(150)), volume_ml=300)

    assert (COMMON.rate_drops_per_ml, look(given, at(30)).infusion.drops_per_min) == (20, 50)


@pytest.mark.parametrize(
    ("hung", "drops"),
    [
        ((), 20),
        (((2, SetHung()),), 20),
        (((2, SetHung(60)),), 60),
        (((2, SetHung(60)), (20, SetChanged(15))), 15),
        (((2, SetHung(60)), (20, SetChanged())), 20),
    ],
)
def test_15_60_ml_an_hour_in_the_drops_of_the_set_that_hangs(
    hung: tuple[Fact, ...], drops: int
) -> None:
    """Arithmetic: at 60 mL/h a minute holds one mL, whose drops the pack of the set says."""
    given = case(REMOVED, *hung, (10, Started(60)), volume_ml=300)

    assert look(given, at(30)).infusion.drops_per_min == drops


def test_16_280_ml_in_two_hours_after_a_quarter_of_an_hour_at_50_ml_an_hour() -> None:
    """Newfoundland and Labrador programme: 12.5 mL, then 267.5 mL in 105 min, 152.9 mL/h."""
    given = case(REMOVED, (0, Started(50)), duration_minutes=120)
    quarter = look(given, at(15)).infusion
    then = ordered_rate_ml_h(facts_from(given).episode, COMMON, quarter.left_ml or 0, 300)

    assert (quarter.given_ml, quarter.left_ml) == (12.5, 267.5)
    assert then == near(267.5 / 105 * 60)
    assert round(then, 1) == 152.9
    assert look(given, at(5)).infusion.projected_end_at == at(120)


@pytest.mark.parametrize(("policy", "most_ml"), [("ca", 30), ("nz", 50)])
def test_16_the_first_quarter_of_an_hour_has_a_cap(policy: str, most_ml: float) -> None:
    """Newfoundland and Labrador: 2 mL/min, 30 mL. Waikato: up to 50 mL in 15 min."""
    values = POLICIES[policy]
    hours = values.rate_first.total_seconds() / 3600

    assert values.rate_first_max_ml_h * hours == most_ml


@pytest.mark.parametrize(("policy", "codes"), [("ca", ["fast_first_minutes"]), ("nz", [])])
def test_16_a_first_quarter_above_the_cap_is_said(policy: str, codes: list[str]) -> None:
    """Newfoundland and Labrador: 120 mL/h. Waikato: 200 mL/h. A start at 150 mL/h."""
    given = case(REMOVED, (0, Started(150)), policy=POLICIES[policy])

    assert [advice.code for advice in look(given, at(5)).advices] == codes
