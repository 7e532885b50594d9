"""Volume given and where the rate leads."""

from datetime import datetime

import pytest

from server.domain.infusion import Infusion, drops_per_min, volume_given
from server.domain.payloads import (
    Completed,
    Flushed,
    Paused,
    RateSet,
    Resumed,
    Stopped,
    VolumeRead,
)
from server.domain.picture import Case
from tests.domain.builders import around, at, case, facts_from, look, near, running


def given_ml(given: Case, now: datetime) -> float:
    return round(look(given, now).infusion.given_ml, 6)


def test_before_the_issue_nothing_is_known_but_the_ceiling() -> None:
    assert look(case(), at(0)).infusion == Infusion(
        given_ml=0.0,
        left_ml=280.0,
        rate_ml_h=None,
        permitted_rate_ml_h=300.0,
        projected_end_at=None,
        needed_rate_ml_h=None,
        spare_minutes=None,
        latest_start_at=None,
        drops_per_min=None,
        read_difference_ml=None,
        since_at=None,
    )


def test_the_rate_is_piecewise_constant() -> None:
    """10 min at 60, 20 min at 120, 5 min paused, 10 min at 90, then 30."""
    given = running(
        (20, RateSet(120)),
        (40, Paused()),
        (45, Resumed(90)),
        (55, RateSet(30)),
    )

    assert [given_ml(given, at(minute)) for minute in (10, 20, 40, 45, 55, 57)] == [
        0.0,
        10.0,
        50.0,
        50.0,
        65.0,
        66.0,
    ]


@pytest.mark.parametrize(("resumed", "rate"), [(Resumed(), 75), (Resumed(90), 90)])
def test_without_a_rate_the_infusion_goes_on_at_the_rate_before_the_pause(
    resumed: Resumed, rate: float
) -> None:
    given = running((20, RateSet(75)), (25, VolumeRead(12)), (30, Paused()), (40, resumed))

    assert look(given, at(41)).infusion.rate_ml_h == rate


def test_two_pauses_resume_at_the_rate_before_the_first() -> None:
    given = running((20, Paused()), (25, Resumed()), (30, Paused()), (35, Resumed()))

    assert look(given, at(36)).infusion.rate_ml_h == 60


def test_a_reading_replaces_the_integral_from_its_instant_on_and_shows_the_difference() -> None:
    given = running((40, VolumeRead(26)))
    before, after = look(given, at(40, -1)).infusion, look(given, at(50)).infusion

    assert before.read_difference_ml is None
    assert before.given_ml == near(30 - 1 / 60)
    assert (after.read_difference_ml, after.given_ml) == (-4.0, 36.0)
    assert after.since_at == at(10)


def test_a_later_reading_is_compared_with_what_the_rates_gave_since_the_one_before() -> None:
    given = running((40, VolumeRead(26)), (50, VolumeRead(39)))

    assert look(given, at(50)).infusion.read_difference_ml == 3.0


def test_a_reading_below_the_one_before_takes_volume_back() -> None:
    assert given_ml(running((40, VolumeRead(26)), (41, VolumeRead(20))), at(41)) == 20.0


def test_a_reading_above_the_unit_is_capped_at_it() -> None:
    assert given_ml(running((40, VolumeRead(400))), at(41)) == 280.0


def test_volume_given_is_capped_at_the_unit() -> None:
    given = running(rate=280)
    found = look(given, at(75)).infusion

    assert [given_ml(given, now) for now in (at(69), *around(at(70)), at(500))] == [
        275.333333,
        279.922222,
        280.0,
        280.0,
        280.0,
    ]
    assert (found.left_ml, found.projected_end_at, found.needed_rate_ml_h) == (0.0, at(75), 0.0)


def test_a_reading_of_part_of_a_full_bag_lets_it_run_again() -> None:
    assert given_ml(running((75, VolumeRead(250)), rate=280), at(78)) == 264.0


def test_the_end_stops_the_flow_and_its_volume_replaces_the_integral() -> None:
    integral = look(running((100, Completed())), at(200)).infusion
    charted = look(running((100, Stopped("fever", given_ml=85))), at(200)).infusion

    assert (integral.given_ml, integral.left_ml, integral.read_difference_ml) == (90.0, 190.0, None)
    assert (charted.given_ml, charted.left_ml, charted.read_difference_ml) == (85, 195.0, -5.0)
    assert (integral.rate_ml_h, integral.needed_rate_ml_h, integral.latest_start_at) == (
        None,
        None,
        None,
    )


def test_a_volume_may_be_read_after_the_end() -> None:
    assert given_ml(running((100, Completed()), (110, VolumeRead(275))), at(120)) == 275


def test_a_flush_is_not_part_of_the_unit() -> None:
    assert given_ml(running((40, Flushed(5))), at(40)) == 30.0


def test_without_a_volume_only_what_was_given_is_known() -> None:
    found = look(running(volume_ml=None), at(70)).infusion

    assert found == Infusion(
        given_ml=60.0,
        left_ml=None,
        rate_ml_h=60,
        permitted_rate_ml_h=300.0,
        projected_end_at=None,
        needed_rate_ml_h=None,
        spare_minutes=None,
        latest_start_at=None,
        drops_per_min=20,
        read_difference_ml=None,
        since_at=at(10),
    )


def test_facts_that_lie_ahead_do_not_flow_before_they_happen() -> None:
    """Bedside clocks may be a little ahead of the server's."""
    flow = facts_from(running((20, RateSet(120)))).episode.flow

    assert [round(volume_given(flow, 280, now).given_ml, 3) for now in (at(9), at(19))] == [0, 9]


@pytest.mark.parametrize(
    ("rate", "drops_per_ml", "drops"),
    [(150, 20, 50), (150, 15, 38), (150, 10, 25), (0, 20, 0), (1.4, 20, 0), (1.5, 20, 1)],
)
def test_drops_are_shown_to_the_nearest_whole_drop_halves_up(
    rate: float, drops_per_ml: float, drops: int
) -> None:
    assert drops_per_min(rate, drops_per_ml) == drops
