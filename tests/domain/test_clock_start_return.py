"""The start target and the return window: the second before, at and after each boundary."""

from datetime import datetime, timedelta

import pytest

from server.domain.clock import Clock
from server.domain.payloads import (
    Available,
    Cancelled,
    Discarded,
    Issued,
    Payload,
    Returned,
    Started,
)
from server.domain.words import ClockName, ClockState
from tests.domain.builders import around, at, case, clock, clocks, states, states_as_lived

OPEN, DUE, OVERDUE = ClockState.OPEN, ClockState.DUE, ClockState.OVERDUE
MET, LATE, MISSED, LAPSED = (
    ClockState.MET,
    ClockState.MET_LATE,
    ClockState.MISSED,
    ClockState.LAPSED,
)
PENDING = ClockState.PENDING


def test_the_start_clock_counts_from_the_issue() -> None:
    assert clocks(case((3, Issued(removed_at=at(-5)))), ClockName.START) == [
        Clock(ClockName.START, 1, at(3), at(33), at(33), "start.target_minutes")
    ]


def test_the_return_clock_counts_from_the_removal() -> None:
    assert clocks(case((3, Issued(removed_at=at(-5)))), ClockName.RETURN) == [
        Clock(ClockName.RETURN, 1, at(-5), at(25), at(25), "return.minutes")
    ]


def test_the_return_clock_counts_from_the_issue_where_no_removal_is_given() -> None:
    assert clock(case((3, Issued())), ClockName.RETURN).limit_at == at(33)


@pytest.mark.parametrize("facts", [(), ((-30, Available()),), ((-30, Cancelled("not wanted")),)])
def test_a_unit_that_was_not_issued_owes_neither(facts: tuple[tuple[int, Payload], ...]) -> None:
    given = case(*facts)

    assert (clocks(given, ClockName.START), clocks(given, ClockName.RETURN)) == ([], [])


def test_a_record_from_elsewhere_without_an_issue_owes_neither() -> None:
    given = case((0, Started(60)), history=True)

    assert (clocks(given, ClockName.START), clocks(given, ClockName.RETURN)) == ([], [])


@pytest.mark.parametrize("name", [ClockName.START, ClockName.RETURN])
def test_unmet_they_open_fall_due_at_the_limit_and_are_overdue_a_second_later(
    name: ClockName,
) -> None:
    given = case((0, Issued()))

    assert states(given, name, *around(at(0))) == [PENDING, OPEN, OPEN]
    assert states(given, name, *around(at(30))) == [OPEN, DUE, OVERDUE]


@pytest.mark.parametrize(
    ("started", "state"), list(zip(around(at(30)), (MET, MET, LATE), strict=True))
)
def test_a_start_up_to_the_target_meets_it_and_a_second_later_is_late(
    started: datetime, state: ClockState
) -> None:
    given = case((0, Issued()), (started, Started(60)))

    assert states(given, ClockName.START, at(200)) == [state]
    assert clock(given, ClockName.START).met_at == started


@pytest.mark.parametrize("away", [Returned(), Discarded("dropped")])
@pytest.mark.parametrize(
    ("left", "start", "back"),
    [
        (at(30, -1), LAPSED, MET),
        (at(30), LAPSED, MET),
        (at(30, 1), MISSED, LATE),
    ],
)
def test_a_unit_that_leaves_the_ward_lapses_the_start_and_meets_the_return(
    left: datetime, start: ClockState, back: ClockState, away: Payload
) -> None:
    given = case((0, Issued()), (left, away))

    assert states(given, ClockName.START, left, at(300)) == [start, start]
    assert states(given, ClockName.RETURN, left, at(300)) == [back, back]


@pytest.mark.parametrize("started", [at(12), at(30), at(45)])
def test_the_return_lapses_at_the_start(started: datetime) -> None:
    given = case((0, Issued()), (started, Started(60)))

    assert states(given, ClockName.RETURN, started, at(300)) == [LAPSED, LAPSED]


def test_the_return_window_as_the_ward_lived_it() -> None:
    given = case((0, Issued(removed_at=at(-10))), (25, Started(60)))

    assert states_as_lived(
        given, ClockName.RETURN, at(0, -1), at(0), at(20), at(20, 1), at(25, -1), at(25)
    ) == [None, OPEN, DUE, OVERDUE, OVERDUE, LAPSED]


def test_a_late_start_leaves_the_limit_where_it_was() -> None:
    given = case((0, Issued()), (50, Started(60)))
    found = clock(given, ClockName.START)

    assert (found.limit_at, found.met_at) == (at(30), at(50))
    assert found.limit_at is not None
    assert found.met_at is not None
    assert found.met_at - found.limit_at == timedelta(minutes=20)
