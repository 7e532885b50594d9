"""Baseline and first check: windows to the second."""

from datetime import datetime

import pytest

from server.domain.clock import Clock
from server.domain.payloads import Completed, Issued, Started
from server.domain.words import ClockName, ClockState
from tests.domain.builders import (
    FULL,
    PARTIAL,
    Fact,
    around,
    at,
    case,
    clock,
    clocks,
    states,
    states_as_lived,
)

MET, LATE, MISSED = ClockState.MET, ClockState.MET_LATE, ClockState.MISSED
OPEN, DUE, OVERDUE = ClockState.OPEN, ClockState.DUE, ClockState.OVERDUE
PENDING, LAPSED = ClockState.PENDING, ClockState.LAPSED
ISSUED, STARTED = (-70, Issued()), (0, Started(60))


def first(*facts: Fact) -> list[ClockState]:
    """How the first check stands a day later."""
    return states(case(ISSUED, STARTED, *facts), ClockName.FIRST_CHECK, at(1440))


def test_no_check_is_owed_before_the_start() -> None:
    given = case(ISSUED)

    assert [clocks(given, name) for name in (ClockName.BASELINE_CHECK, ClockName.FIRST_CHECK)] == [
        [],
        [],
    ]


def test_the_baseline_window_closes_with_the_start() -> None:
    assert clocks(case(ISSUED, STARTED), ClockName.BASELINE_CHECK) == [
        Clock(
            ClockName.BASELINE_CHECK,
            1,
            at(-60),
            None,
            at(0),
            "baseline.limit_minutes",
            over_at=at(0),
        )
    ]


@pytest.mark.parametrize(
    ("taken", "state"),
    [
        *zip(around(at(-60)), (MISSED, MET, MET), strict=True),
        *zip(around(at(0)), (MET, MET, MISSED), strict=True),
    ],
)
def test_a_baseline_counts_from_an_hour_before_up_to_the_start(
    taken: datetime, state: ClockState
) -> None:
    given = case(ISSUED, STARTED, (taken, FULL))

    assert states(given, ClockName.BASELINE_CHECK, at(0), at(1)) == [state, state]


def test_of_several_sets_in_the_window_the_last_is_the_baseline() -> None:
    given = case(ISSUED, STARTED, (-50, FULL), (-20, FULL), (-5, PARTIAL))

    assert clock(given, ClockName.BASELINE_CHECK).met_at == at(-20)


def test_a_partial_set_meets_no_check() -> None:
    given = case(ISSUED, STARTED, (-5, PARTIAL), (15, PARTIAL))

    assert states(given, ClockName.BASELINE_CHECK, at(30)) == [MISSED]
    assert states(given, ClockName.FIRST_CHECK, at(30)) == [OVERDUE]


def test_the_first_check_opens_falls_due_and_has_its_limit_after_the_start() -> None:
    assert clocks(case(ISSUED, STARTED), ClockName.FIRST_CHECK) == [
        Clock(ClockName.FIRST_CHECK, 1, at(10), at(15), at(20), "first.due_minutes")
    ]


def test_the_first_check_unmet_goes_through_its_states_at_each_boundary() -> None:
    given = case(ISSUED, STARTED)

    assert states(
        given, ClockName.FIRST_CHECK, *around(at(10)), *around(at(15)), *around(at(20))
    ) == [PENDING, OPEN, OPEN, OPEN, DUE, DUE, DUE, DUE, OVERDUE]


@pytest.mark.parametrize(
    ("taken", "state"),
    [
        *zip(around(at(10)), (OVERDUE, MET, MET), strict=True),
        *zip(around(at(20)), (MET, MET, LATE), strict=True),
        (at(900), LATE),
    ],
)
def test_a_set_from_opening_to_limit_meets_the_first_check_and_a_later_one_late(
    taken: datetime, state: ClockState
) -> None:
    assert first((taken, FULL)) == [state]


def test_a_set_before_it_opens_is_kept_and_does_not_meet_it() -> None:
    given = case(ISSUED, STARTED, (at(10, -1), FULL), (17, FULL))

    assert clock(given, ClockName.FIRST_CHECK).met_at == at(17)


@pytest.mark.parametrize(
    ("ended", "state"), list(zip(around(at(10)), (LAPSED, MISSED, MISSED), strict=True))
)
def test_a_unit_that_ends_before_the_check_opens_does_not_owe_it(
    ended: datetime, state: ClockState
) -> None:
    assert first((ended, Completed())) == [state]


def test_a_check_that_lapses_is_pending_until_the_unit_ends() -> None:
    given = case(ISSUED, STARTED, (8, Completed()))

    assert states(given, ClockName.FIRST_CHECK, *around(at(8))) == [PENDING, LAPSED, LAPSED]


@pytest.mark.parametrize(
    ("taken", "state"), list(zip(around(at(20)), (MET, MET, MISSED), strict=True))
)
def test_the_window_stays_open_although_the_unit_has_ended_meanwhile(
    taken: datetime, state: ClockState
) -> None:
    assert first((12, Completed()), (taken, FULL)) == [state]


def test_unmet_after_a_short_unit_it_is_missed_once_its_limit_has_passed() -> None:
    given = case(ISSUED, STARTED, (12, Completed()))

    assert states(given, ClockName.FIRST_CHECK, at(12), *around(at(20))) == [
        OPEN,
        DUE,
        DUE,
        MISSED,
    ]


@pytest.mark.parametrize(
    ("taken", "state"), list(zip(around(at(90)), (LATE, LATE, MISSED), strict=True))
)
def test_a_late_set_counts_up_to_the_end_of_the_unit(taken: datetime, state: ClockState) -> None:
    assert first((90, Completed()), (taken, FULL)) == [state]


def test_a_check_never_made_is_missed_with_the_end_of_the_unit() -> None:
    given = case(ISSUED, STARTED, (90, Completed()))

    assert states_as_lived(given, ClockName.FIRST_CHECK, *around(at(90))) == [
        OVERDUE,
        MISSED,
        MISSED,
    ]


def test_one_set_serves_the_end_of_one_unit_and_the_baseline_of_the_next() -> None:
    taken = (5, FULL)
    earlier = case((-200, Issued()), (-150, Started(60)), (0, Completed()), taken)
    later = case((2, Issued()), (20, Started(60)), taken, id="episode-2")

    assert clock(earlier, ClockName.END_CHECK).met_at == at(5)
    assert clock(later, ClockName.BASELINE_CHECK).met_at == at(5)
