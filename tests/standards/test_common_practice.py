"""Facts of the trade. Common practice, no source.

Left out, because the program does not record them: which words are read aloud from band, form
and bag.
"""

from dataclasses import replace

import pytest

from server.domain.payloads import Completed, Flushed, Issued, RateSet, Started
from server.domain.words import ClockName, ClockState, Component, Confirmation
from server.pages.episodes.pathway import STEPS
from server.pages.episodes.rate_view import rate_range
from server.pages.event_forms.confirming import CONFIRMING
from tests.domain.builders import (
    COMMON,
    FULL,
    PATIENT,
    SOUND,
    at,
    case,
    clock,
    lacking,
    look,
    near,
    states,
)

ISSUED = (0, Issued())
FRAIL = replace(PATIENT, overload_risks=("low weight",))


@pytest.mark.parametrize(("rate", "ml"), [(50, 12.5), (55, 13.75), (60, 15)])
def test_50_to_60_ml_an_hour_for_a_quarter_of_an_hour_are_12_and_a_half_to_15_ml(
    rate: float, ml: float
) -> None:
    """Common practice, no source."""
    given = case(ISSUED, (5, FULL), (10, Started(rate)))

    assert look(given, at(25)).infusion.given_ml == near(ml)
    assert look(given, at(20)).advices == ()


@pytest.mark.parametrize("rate", [150, 175])
def test_then_150_to_175_ml_an_hour_if_tolerated(rate: float) -> None:
    """Common practice, no source: no ceiling speaks against it, and the unit ends in time."""
    given = case(ISSUED, (5, FULL), (10, Started(55)), (25, FULL), (26, RateSet(rate)))
    seen = look(given, at(27))

    assert seen.advices == ()
    assert (seen.infusion.spare_minutes or 0) > 100


@pytest.mark.parametrize(("rate", "codes"), [(100, []), (101, ["above_ceiling"])])
def test_then_about_100_ml_an_hour_if_frail(rate: float, codes: list[str]) -> None:
    """Common practice, no source: the ceiling with a recorded risk of overload."""
    facts = ((5, FULL), (10, Started(55)), (25, FULL), (26, RateSet(rate)))
    given = case(ISSUED, *facts, patient=FRAIL)

    assert [advice.code for advice in look(given, at(27)).advices] == codes


@pytest.mark.parametrize("volume_ml", [3, 5])
def test_the_line_is_flushed_with_3_to_5_ml_which_are_not_blood(volume_ml: float) -> None:
    """Common practice, no source."""
    given = case(ISSUED, (10, Started(60)), (100, Completed()), (101, Flushed(volume_ml)))

    assert look(given, at(102)).infusion.given_ml == 90


def test_vital_signs_are_taken_before_the_start_at_a_quarter_of_an_hour_and_at_the_end() -> None:
    """Common practice, no source."""
    facts = ((5, FULL), (10, Started(150)), (25, FULL), (85, FULL), (120, Completed()), (125, FULL))
    given = case(ISSUED, *facts)
    names = (ClockName.BASELINE_CHECK, ClockName.FIRST_CHECK, ClockName.END_CHECK)

    assert [clock(given, name).met_at for name in names] == [at(5), at(25), at(125)]


@pytest.mark.parametrize("component", Component)
def test_everything_is_in_within_four_hours_of_leaving_the_blood_bank(
    component: Component,
) -> None:
    """Common practice, no source."""
    given = case(
        (5, Issued(removed_at=at(0))), (10, Started(150)), component=component, policy=COMMON
    )

    assert states(given, ClockName.FINISH, at(240), at(240, 1)) == [
        ClockState.DUE,
        ClockState.OVERDUE,
    ]


def test_two_people_check_identity_at_the_bedside() -> None:
    """Common practice, no source."""
    given = case(ISSUED, (2, SOUND))

    assert lacking(given, at(5)) == ("identity was not checked by two people at the bedside",)


def test_only_saline_shares_the_line_and_the_port_is_cleaned_for_15_s() -> None:
    """Common practice, no source: said beside the check of the line."""
    said = CONFIRMING[Confirmation.ACCESS].note

    assert said == (
        "Port cleaned for 15 s. Only 0.9 % saline shares the line. "
        "Common practice; local policy decides."
    )


def test_the_flush_is_said_to_be_3_to_5_ml() -> None:
    """Common practice, no source."""
    flush = next(step for step in STEPS if step.key == "flush")

    assert flush.hint == "3 to 5 mL of 0.9 % saline. Common practice; local policy decides."


def test_the_rest_of_the_bag_may_run_at_any_rate_between_needed_and_permitted() -> None:
    """Common practice, no source: a set of 20 drops/mL."""
    given = case(ISSUED, (5, FULL), (10, Started(60)), (25, FULL))

    shown = rate_range(look(given, at(26)))

    assert (shown.range, shown.drops) == (
        "75 to 300 mL/h", "25 to 100 drops/min at 20 drops/mL"
    )  # fmt: skip
