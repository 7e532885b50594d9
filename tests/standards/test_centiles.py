"""A child's signs against published references.

Pulse and respirations: Fleming et al., Lancet 2011;377:1011-18, points of the centile curves as in
the authors' data, rounded. Systolic pressure: Pediatric Advanced Life Support. That values between
two published ages lie on a straight line is our choice.
"""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from server.domain.centiles import (
    PULSE,
    RESPIRATIONS,
    Band,
    ChildSigns,
    Floor,
    Placed,
    band_of,
    child_signs,
    is_child,
    months_old,
    pulse_centiles,
    respiration_centiles,
    systolic_floor_mmhg,
)
from server.domain.payloads import Observed
from tests.domain.builders import FULL, PATIENT

ON = date(2026, 3, 3)
FOUR = replace(PATIENT, birth_date=date(2022, 3, 3))


@pytest.mark.parametrize(
    ("months", "pulse", "respirations"),
    [
        (0, (90, 107, 127, 148, 164), (26, 35, 44, 58, 68)),
        (1, (108, 125, 144, 165, 182), (25, 35, 43, 57, 67)),
        (12, (92, 107, 126, 143, 159), (22, 30, 37, 49, 57)),
        (24, (80, 95, 113, 132, 146), (18, 24, 30, 37, 42)),
        (72, (62, 78, 95, 114, 127), (16, 19, 22, 25, 28)),
        (144, (49, 64, 80, 99, 111), (13, 15, 18, 22, 24)),
        (216, (41, 56, 71, 90, 102), (10, 13, 15, 18, 21)),
    ],
)
def test_at_a_published_age_the_published_figures(
    months: int, pulse: tuple[int, ...], respirations: tuple[int, ...]
) -> None:
    assert (pulse_centiles(months), respiration_centiles(months)) == (pulse, respirations)


def test_every_published_age_gives_its_own_row() -> None:
    assert [pulse_centiles(months) for months, _ in PULSE] == [row for _, row in PULSE]
    assert [respiration_centiles(months) for months, _ in RESPIRATIONS] == [
        row for _, row in RESPIRATIONS
    ]


def test_between_two_ages_the_straight_line() -> None:
    """Half-way between 4 and 5 years, and a quarter of the way from 6 to 8."""
    assert pulse_centiles(54) == (67, 83, 100, 119, 133)
    assert respiration_centiles(78) == (16, 19, 22, 25, 28)


def test_beyond_the_last_age_its_own_figures() -> None:
    assert pulse_centiles(400) == (41, 56, 71, 90, 102)


def test_the_centiles_rise_in_every_row() -> None:
    rows = [row for _, row in (*PULSE, *RESPIRATIONS)]

    assert [row for row in rows if tuple(sorted(row)) != row] == []


@pytest.mark.parametrize(
    ("value", "band"),
    [
        (91, Band.BELOW_P1),
        (92, Band.P1_TO_P10),
        (106, Band.P1_TO_P10),
        (107, Band.P10_TO_P90),
        (143, Band.P10_TO_P90),
        (144, Band.P90_TO_P99),
        (159, Band.P90_TO_P99),
        (160, Band.ABOVE_P99),
    ],
)
def test_where_a_pulse_of_an_infant_of_12_months_lies(value: float, band: Band) -> None:
    assert band_of(value, pulse_centiles(12)) is band


@pytest.mark.parametrize(
    ("days", "floor"),
    [(0, 60), (28, 60), (29, 70), (364, 70)],
)
def test_the_systolic_floor_in_the_first_year(days: int, floor: int) -> None:
    """Below 60 mmHg to 28 days, below 70 to a year."""
    assert systolic_floor_mmhg(ON - timedelta(days=days), ON) == floor


@pytest.mark.parametrize(("years", "floor"), [(1, 72), (2, 74), (5, 80), (9, 88), (10, 90)])
def test_the_systolic_floor_from_the_first_birthday_on(years: int, floor: int) -> None:
    """Below 70 + 2 x age to 10 years, below 90 from then on."""
    birthday = date(ON.year - years, ON.month, ON.day)

    assert systolic_floor_mmhg(birthday, ON) == floor
    assert systolic_floor_mmhg(birthday - timedelta(days=300), ON) == floor


def test_a_child_of_four() -> None:
    taken = Observed(pulse_per_min=140, respirations_per_min=24, systolic_mmhg=77)

    assert child_signs(taken, FOUR, ON) == ChildSigns(
        pulse=Placed(140, Band.ABOVE_P99, (69, 84, 102, 121, 134)),
        respirations=Placed(24, Band.P10_TO_P90, (17, 20, 24, 28, 31)),
        systolic=Floor(77, 78),
    )


def test_a_pressure_at_the_floor_is_not_below_it() -> None:
    assert (Floor(77, 78).below, Floor(78, 78).below) == (True, False)


def test_a_sign_that_was_not_taken_is_not_placed() -> None:
    assert child_signs(Observed(temperature_c=37), FOUR, ON) == ChildSigns(None, None, None)


@pytest.mark.parametrize(
    ("born", "child"),
    [(date(2010, 3, 3), False), (date(2010, 3, 4), True), (None, False)],
)
def test_a_child_is_under_16(born: date | None, child: bool) -> None:  # noqa: FBT001
    patient = replace(PATIENT, birth_date=born)

    assert is_child(patient, ON) is child
    assert (child_signs(FULL, patient, ON) is not None) is child


def test_an_age_in_months_is_never_negative() -> None:
    assert months_old(date(2026, 3, 4), ON) == 0
    assert round(months_old(date(2025, 3, 3), ON), 1) == 12.0
