"""Where the rate leads: the projected end, and what the finish limit leaves."""

from datetime import datetime

import pytest

from server.domain.infusion import Infusion
from server.domain.payloads import (
    Issued,
    Paused,
    Started,
)
from server.domain.picture import Case
from tests.domain.builders import around, at, case, look, near, running


def projected(given: Case, now: datetime) -> datetime | None:
    return look(given, now).infusion.projected_end_at


def test_before_the_start_there_is_a_latest_start_and_a_rate_that_would_be_needed() -> None:
    assert look(case((0, Issued())), at(60)).infusion == Infusion(
        given_ml=0.0,
        left_ml=280.0,
        rate_ml_h=None,
        permitted_rate_ml_h=300.0,
        projected_end_at=None,
        needed_rate_ml_h=near(280 / 3),
        spare_minutes=None,
        latest_start_at=at(184),
        drops_per_min=None,
        read_difference_ml=None,
        since_at=None,
    )


def test_during_the_slow_start_the_projection_goes_on_at_the_permitted_rate() -> None:
    """10 mL given, 5 more by 10:25, 265 mL at 300 mL/h are 53 min."""
    assert look(running(), at(20)).infusion == Infusion(
        given_ml=near(10.0),
        left_ml=near(270.0),
        rate_ml_h=60,
        permitted_rate_ml_h=300.0,
        projected_end_at=at(78),
        needed_rate_ml_h=near(270 / 220 * 60),
        spare_minutes=162.0,
        latest_start_at=at(184),
        drops_per_min=20,
        read_difference_ml=None,
        since_at=at(10),
    )


def test_after_the_slow_start_the_present_rate_is_assumed() -> None:
    assert [projected(running(), now) for now in around(at(25))] == [at(78), at(290), at(290)]


def test_an_ordered_duration_covers_the_whole_unit_slow_start_included() -> None:
    assert projected(running(duration_minutes=120), at(20)) == at(130)


def test_an_ordered_duration_is_never_projected_above_the_permitted_rate() -> None:
    """265 mL in 15 min would be 1060 mL/h; at 300 it takes 53 min."""
    assert projected(running(duration_minutes=30), at(20)) == at(78)


@pytest.mark.parametrize("minutes", [1, 15])
def test_an_ordered_duration_within_the_slow_start_says_nothing_of_the_rate_after_it(
    minutes: int,
) -> None:
    assert projected(running(duration_minutes=minutes), at(20)) == at(78)


def test_an_ordered_ceiling_is_the_rate_after_the_slow_start() -> None:
    """265 mL at 106 mL/h are 150 min."""
    assert projected(running(max_rate_ml_h=106), at(20)) == at(175)


def test_a_unit_that_is_in_before_the_slow_start_ends_is_projected_at_its_rate() -> None:
    assert projected(running(rate=60, volume_ml=12), at(12)) == at(22)


def test_a_projected_end_is_rounded_to_the_nearest_second() -> None:
    """280 mL at 123 mL/h are 8195.12 s, at 121 mL/h 8330.58 s."""
    assert projected(running(rate=123), at(25)) == at(10, 8195)
    assert projected(running(rate=121), at(25)) == at(10, 8331)


def test_a_rate_that_would_take_more_than_a_year_has_no_projected_end() -> None:
    assert projected(running(rate=0.03), at(30)) is None


@pytest.mark.parametrize("rate", [0, 0.0])
def test_at_rate_nought_there_is_no_projected_end(rate: float) -> None:
    found = look(running(rate=rate), at(30)).infusion

    assert (found.projected_end_at, found.spare_minutes, found.drops_per_min) == (None, None, 0)


def test_a_pause_has_no_projected_end_and_its_needed_rate_grows() -> None:
    given = running((30, Paused("to the scanner")))
    found = look(given, at(60)).infusion

    assert (found.projected_end_at, found.spare_minutes, found.rate_ml_h) == (None, None, 0.0)
    assert found.needed_rate_ml_h == near(260 / 3)
    assert found.since_at == at(30)


def test_the_volume_on_the_issued_bag_replaces_the_ordered_one() -> None:
    assert look(case((0, Issued(volume_ml=310))), at(0)).infusion.left_ml == 310


def test_spare_minutes_are_negative_when_the_end_comes_too_late() -> None:
    assert look(running(), at(30)).infusion.spare_minutes == -50.0


def test_at_the_finish_limit_and_after_there_is_no_needed_rate() -> None:
    needed = [look(running(), now).infusion.needed_rate_ml_h for now in around(at(240))]

    assert needed == [near((280 - 13_799 / 60) * 3600), None, None]


def test_the_latest_start_is_the_last_whole_second_that_still_fits() -> None:
    """200 mL at 70 mL/h are 10285.714 s."""
    given = case((0, Issued()), volume_ml=200, max_rate_ml_h=70)

    assert look(given, at(1)).infusion.latest_start_at == at(240, -10_286)


def test_without_a_finish_limit_nothing_is_measured_against_it() -> None:
    found = look(case((0, Started(60)), history=True), at(60)).infusion

    assert (found.needed_rate_ml_h, found.spare_minutes, found.latest_start_at) == (
        None,
        None,
        None,
    )
    assert found.projected_end_at == at(280)
