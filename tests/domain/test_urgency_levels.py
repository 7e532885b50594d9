"""The levels of urgency one by one, at the seconds where they begin and end."""

from datetime import datetime, timedelta

import pytest

from server.domain.facts import HungSet
from server.domain.payloads import (
    Available,
    Cancelled,
    Completed,
    Discarded,
    FateRecorded,
    Issued,
    Paused,
    RateSet,
    ReactionClosed,
    ReactionSuspected,
    Returned,
    Started,
    Stopped,
)
from server.domain.picture import Case
from server.domain.words import Component, Fate, Level
from tests.domain.builders import FULL, Fact, around, at, case, look, with_policy

LONG_WINDOWS = with_policy(start_target=timedelta(hours=8), return_within=timedelta(hours=8))
DAY = 24 * 60


def well(*facts: Fact, rate: float = 150) -> Case:
    """Issued, baseline, started at 10 min, first check at 25 min: nothing is late."""
    return case((0, Issued()), (5, FULL), (10, Started(rate)), (25, FULL), *facts)


def levels(given: Case, *instants: datetime) -> list[Level]:
    return [look(given, now).urgency.level for now in instants]


def test_a_suspected_reaction_is_first_until_it_is_closed() -> None:
    given = well(
        (40, ReactionSuspected(("fever",))), (42, Stopped("fever")), (90, ReactionClosed("none"))
    )

    assert levels(given, *around(at(40)), *around(at(90))) == [
        Level.STEADY,
        Level.REACTION,
        Level.REACTION,
        Level.REACTION,
        Level.DUE,
        Level.DUE,
    ]


def test_a_reaction_goes_before_a_passed_limit_and_stays_after_the_fate() -> None:
    passed = well((40, ReactionSuspected()))
    closed = well(
        (90, Completed()), (91, FateRecorded(Fate.TRANSFUSED)), (200, ReactionSuspected())
    )

    assert levels(passed, at(300)) == [Level.REACTION]
    assert levels(closed, at(300)) == [Level.REACTION]


def test_a_running_unit_past_its_finish_limit_is_past_limit() -> None:
    given = well((30, Paused()), (85, FULL), (145, FULL), (205, FULL))

    assert levels(given, *around(at(240))) == [Level.AT_RISK, Level.DUE, Level.PAST_LIMIT]


@pytest.mark.parametrize("facts", [(), ((35, Returned()),)])
def test_so_is_one_that_was_never_started_until_it_goes(facts: tuple[Fact, ...]) -> None:
    given = case((0, Issued()), *facts)
    expected = Level.CLOSED if facts else Level.PAST_LIMIT

    assert levels(given, at(240, 1)) == [expected]


def test_a_unit_ended_after_its_limit_is_no_longer_past_it() -> None:
    given = well((85, FULL), (145, FULL), (205, FULL), (245, Completed()))

    assert levels(given, *around(at(245))) == [Level.PAST_LIMIT, Level.STEADY, Level.STEADY]


def test_an_unmet_check_is_soon_then_due_then_overdue() -> None:
    given = well()

    assert levels(given, *around(at(75)), *around(at(85)), *around(at(100))) == [
        Level.STEADY,
        Level.SOON,
        Level.SOON,
        Level.SOON,
        Level.DUE,
        Level.DUE,
        Level.DUE,
        Level.DUE,
        Level.OVERDUE,
    ]


def test_the_notice_of_the_policy_says_how_soon_is_soon() -> None:
    policy = with_policy(reminders_notice=timedelta(0))
    given = case((0, Issued()), (10, Started(300)), policy=policy)

    assert levels(given, *around(at(25))) == [Level.STEADY, Level.DUE, Level.DUE]


def test_an_issued_unit_is_soon_due_and_overdue_by_its_start() -> None:
    given = case((0, Issued()))

    assert levels(given, at(0), *around(at(20)), *around(at(30))) == [
        Level.STEADY,
        Level.STEADY,
        Level.SOON,
        Level.SOON,
        Level.SOON,
        Level.DUE,
        Level.OVERDUE,
    ]


def test_an_overdue_check_goes_before_a_risk() -> None:
    given = case((0, Issued()), (10, Started(60)))

    assert levels(given, at(29), at(31)) == [Level.AT_RISK, Level.OVERDUE]


def test_an_overdue_end_check_holds_a_closed_unit_up_until_its_watch_is_over() -> None:
    given = well((90, Completed()), (91, FateRecorded(Fate.TRANSFUSED)))

    assert levels(given, at(94), at(95), at(150), at(150, 1), *around(at(90 + DAY))) == [
        Level.CLOSED,
        Level.SOON,
        Level.DUE,
        Level.OVERDUE,
        Level.OVERDUE,
        Level.OVERDUE,
        Level.CLOSED,
    ]


@pytest.mark.parametrize(
    ("rate", "level"), [(61.4, Level.AT_RISK), (61.5, Level.STEADY), (61.6, Level.STEADY)]
)
def test_a_unit_that_will_end_after_its_limit_is_at_risk(rate: float, level: Level) -> None:
    """At 40 min 205 mL are left for 200 min: 61.5 mL/h."""
    assert levels(well((40, RateSet(rate))), at(50)) == [level]


def test_an_end_projected_for_the_limit_itself_is_in_time() -> None:
    """230 mL in 230 min at 60 mL/h from 10:10 is 14:00; one millilitre more is a minute late."""
    ready: list[Fact] = [(0, Issued()), (5, FULL), (10, Started(60)), (25, FULL)]
    exact = case(*ready, volume_ml=230)
    over = case(*ready, volume_ml=230.02)

    assert (look(exact, at(40)).infusion.spare_minutes, levels(exact, at(40))) == (
        0.0,
        [Level.STEADY],
    )
    assert levels(over, at(40)) == [Level.AT_RISK]


def test_a_unit_is_not_at_risk_merely_because_it_starts_slowly() -> None:
    given = case((0, Issued()), (5, FULL), (10, Started(50)))

    assert levels(given, at(14), *around(at(25))) == [
        Level.STEADY,
        Level.SOON,
        Level.AT_RISK,
        Level.AT_RISK,
    ]


def test_a_paused_unit_comes_to_be_at_risk_when_the_rest_no_longer_fits() -> None:
    """Paused at 40 min with 205 mL left: at 300 mL/h that takes 41 min, so until 199 min."""
    given = well((40, Paused()), (85, FULL), (145, FULL))

    assert look(given, at(50)).infusion.left_ml == 205
    assert levels(given, *around(at(199))) == [Level.SOON, Level.SOON, Level.AT_RISK]


def test_an_unstarted_unit_is_at_risk_once_its_latest_start_has_passed() -> None:
    given = case((0, Issued()), policy=LONG_WINDOWS)

    assert levels(given, *around(at(184)), at(240)) == [
        Level.STEADY,
        Level.STEADY,
        Level.AT_RISK,
        Level.AT_RISK,
    ]


def test_without_a_finish_limit_nothing_is_at_risk() -> None:
    given = case((0, Started(1)), (15, FULL), history=True)

    assert levels(given, at(40)) == [Level.STEADY]


def test_platelets_after_red_cells_are_due_a_new_set_at_once() -> None:
    given = case(
        (0, Issued()), component=Component.PLATELETS, line=(HungSet(at(-60), Component.RED_CELLS),)
    )

    assert levels(given, at(0), at(19)) == [Level.DUE, Level.DUE]


@pytest.mark.parametrize("facts", [(), ((-30, Available()),)])
def test_what_was_not_issued_is_waiting(facts: tuple[Fact, ...]) -> None:
    assert levels(case(*facts), at(-1), at(600)) == [Level.WAITING, Level.WAITING]


@pytest.mark.parametrize(
    "facts",
    [
        [(0, Cancelled("not needed"))],
        [(-5, Issued()), (0, Returned())],
        [(-5, Issued()), (0, Discarded("dropped"))],
    ],
)
def test_what_is_accounted_for_is_closed(facts: list[Fact]) -> None:
    assert levels(case(*facts), at(0), at(5 * DAY)) == [Level.CLOSED, Level.CLOSED]


def test_a_unit_is_steady_again_between_its_checks_until_the_bag_is_due() -> None:
    given = well((90, Completed()), (100, FULL))

    assert levels(given, at(100), *around(at(140)), *around(at(150)), *around(at(330))) == [
        Level.STEADY,
        Level.STEADY,
        Level.SOON,
        Level.SOON,
        Level.SOON,
        Level.DUE,
        Level.DUE,
        Level.DUE,
        Level.DUE,
        Level.OVERDUE,
    ]
