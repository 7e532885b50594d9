"""The running checks: a rolling interval, so that one late set gives one breach and no chain."""

from datetime import datetime, timedelta

import pytest

from server.domain.clock import Clock, state_at
from server.domain.payloads import Completed, Issued, Paused, RateSet, Started
from server.domain.picture import Case, picture
from server.domain.words import ClockName, ClockState
from tests.domain.builders import FULL, PARTIAL, Fact, around, at, case, clocks, with_policy

MET, LATE, MISSED = ClockState.MET, ClockState.MET_LATE, ClockState.MISSED
OPEN, DUE, OVERDUE = ClockState.OPEN, ClockState.DUE, ClockState.OVERDUE
PENDING, LAPSED = ClockState.PENDING, ClockState.LAPSED
FIRST = (15, FULL)


def checks(*facts: Fact) -> Case:
    """Started at the base, with the facts."""
    return case((-10, Issued()), (-5, FULL), (0, Started(60)), *facts)


def rows(given: Case, now: datetime) -> list[tuple[int, datetime | None, ClockState]]:
    """Number, due time and state of each running check."""
    return [
        (clock.n, clock.due_at, state_at(clock, now))
        for clock in clocks(given, ClockName.RUNNING_CHECK)
    ]


def breached(given: Case, now: datetime) -> list[tuple[ClockName, int]]:
    return [(breach.clock, breach.n) for breach in picture(given, now).breaches]


def test_none_is_owed_before_the_start() -> None:
    assert clocks(case((-10, Issued())), ClockName.RUNNING_CHECK) == []


def test_a_policy_without_an_interval_owes_none() -> None:
    policy = with_policy(running_every=timedelta(0))
    given = case((-10, Issued()), (0, Started(60)), FIRST, (75, FULL), policy=policy)

    assert clocks(given, ClockName.RUNNING_CHECK) == []


def test_the_interval_runs_from_the_set_that_met_the_first_check() -> None:
    assert clocks(checks((17, FULL)), ClockName.RUNNING_CHECK) == [
        Clock(
            ClockName.RUNNING_CHECK,
            1,
            at(62),
            at(77),
            at(92),
            "running.every_minutes",
        )
    ]


def test_while_no_first_set_exists_it_runs_from_the_time_the_first_check_was_due() -> None:
    assert rows(checks(), at(40)) == [(1, at(75), PENDING)]
    assert rows(checks((5, FULL), (12, PARTIAL)), at(40)) == [(1, at(75), PENDING)]


def test_unmet_it_goes_through_its_states_at_each_boundary() -> None:
    (found,) = clocks(checks(FIRST), ClockName.RUNNING_CHECK)
    boundaries = (*around(at(60)), *around(at(75)), *around(at(90)))

    assert [state_at(found, now) for now in boundaries] == [
        PENDING,
        OPEN,
        OPEN,
        OPEN,
        DUE,
        DUE,
        DUE,
        DUE,
        OVERDUE,
    ]


@pytest.mark.parametrize(
    ("taken", "state"), list(zip(around(at(90)), (MET, MET, LATE), strict=True))
)
def test_the_next_set_meets_it_up_to_the_limit_and_restarts_the_interval(
    taken: datetime, state: ClockState
) -> None:
    given = checks(FIRST, (taken, FULL))

    assert rows(given, at(100)) == [
        (1, at(75), state),
        (2, taken + timedelta(minutes=60), PENDING),
    ]


def test_a_set_before_it_opens_restarts_the_interval_too() -> None:
    assert rows(checks(FIRST, (30, FULL)), at(40)) == [(1, at(75), MET), (2, at(90), PENDING)]


def test_a_partial_set_does_not_restart_it() -> None:
    assert rows(checks(FIRST, (70, PARTIAL)), at(80)) == [(1, at(75), DUE)]


def test_one_set_three_hours_late_gives_one_breach() -> None:
    given = checks(FIRST, (270, FULL), (330, FULL))

    assert rows(given, at(331)) == [
        (1, at(75), LATE),
        (2, at(330), MET),
        (3, at(390), PENDING),
    ]
    assert breached(given, at(331)) == [
        (ClockName.RUNNING_CHECK, 1),
        (ClockName.FINISH, 1),
    ]


@pytest.mark.parametrize(
    ("ended", "state"),
    [
        (at(40), LAPSED),
        (at(75), LAPSED),
        *zip(around(at(90)), (LAPSED, LAPSED, MISSED), strict=True),
    ],
)
def test_the_end_takes_an_unmet_check_away_up_to_its_limit_and_misses_it_after(
    ended: datetime, state: ClockState
) -> None:
    given = checks(FIRST, (ended, Completed()))

    assert rows(given, ended) == [(1, at(75), state)]


def test_a_set_after_the_end_meets_no_running_check() -> None:
    assert rows(checks(FIRST, (80, Completed()), (82, FULL)), at(90)) == [(1, at(75), LAPSED)]


def test_a_set_at_the_very_end_still_meets_it_and_owes_no_other() -> None:
    assert rows(checks(FIRST, (80, FULL), (80, Completed())), at(90)) == [(1, at(75), MET)]


def test_a_unit_that_ended_before_its_first_check_was_due_owes_no_running_check() -> None:
    assert rows(checks((8, Completed())), at(90)) == []
    assert rows(checks((15, Completed())), at(90)) == []
    assert rows(checks((16, Completed())), at(90)) == [(1, at(75), LAPSED)]


def test_a_first_check_met_after_the_end_owes_no_running_check() -> None:
    assert rows(checks((14, Completed()), (18, FULL)), at(90)) == []


def test_pauses_and_rates_leave_the_interval_alone() -> None:
    given = checks(FIRST, (20, RateSet(120)), (30, Paused("to theatre")))

    assert rows(given, at(80)) == [(1, at(75), DUE)]


@pytest.mark.parametrize("taken", [at(60, -1), at(60), at(80), at(100)])
def test_a_late_first_set_restarts_the_interval_and_is_one_breach(taken: datetime) -> None:
    """Until it came the interval ran from the time the first check was due."""
    given = checks((taken, FULL))

    assert rows(given, at(101)) == [(1, taken + timedelta(minutes=60), PENDING)]
    assert breached(given, at(101)) == [(ClockName.FIRST_CHECK, 1)]


def test_the_check_that_stands_in_goes_through_its_states_until_the_first_set_comes() -> None:
    given = checks((100, FULL))
    lived = [rows(given.known(at=now), now) for now in (at(59), at(75), at(91), at(100))]

    assert lived == [
        [(1, at(75), PENDING)],
        [(1, at(75), DUE)],
        [(1, at(75), OVERDUE)],
        [(1, at(160), PENDING)],
    ]
