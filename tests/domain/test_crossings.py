"""The states a clock came through since it was last seen, each stamped with its boundary."""

from datetime import datetime

import pytest

from server.domain.clock import Clock, crossed_at, state_at
from server.domain.crossings import crossings
from server.domain.payloads import Completed, Issued, Returned, Started
from server.domain.words import ClockName, ClockState
from tests.domain.builders import FULL, at, case, clock

PENDING, OPEN, DUE, OVERDUE = (
    ClockState.PENDING,
    ClockState.OPEN,
    ClockState.DUE,
    ClockState.OVERDUE,
)
MET, LATE, MISSED, LAPSED = (
    ClockState.MET,
    ClockState.MET_LATE,
    ClockState.MISSED,
    ClockState.LAPSED,
)
BEGUN = ((-10, Issued()), (0, Started(60)))
FIRST = clock(case(*BEGUN), ClockName.FIRST_CHECK)

Row = tuple[ClockState | None, ClockState, datetime]


def rows(found: Clock, before: ClockState | None, now: datetime) -> list[Row]:
    return [(item.from_state, item.to_state, item.at) for item in crossings(found, before, now)]


def test_a_clock_seen_for_the_first_time_came_through_every_state_so_far() -> None:
    assert rows(FIRST, None, at(80)) == [
        (None, PENDING, at(80)),
        (PENDING, OPEN, at(10)),
        (OPEN, DUE, at(15)),
        (DUE, OVERDUE, at(20)),
    ]


@pytest.mark.parametrize(
    ("before", "now", "expected"),
    [
        (PENDING, at(10, -1), []),
        (PENDING, at(10), [(PENDING, OPEN, at(10))]),
        (OPEN, at(15), [(OPEN, DUE, at(15))]),
        (DUE, at(20), []),
        (DUE, at(20, 1), [(DUE, OVERDUE, at(20))]),
        (OVERDUE, at(500), []),
        (PENDING, at(16), [(PENDING, OPEN, at(10)), (OPEN, DUE, at(15))]),
    ],
)
def test_only_what_was_passed_since_is_told(
    before: ClockState, now: datetime, expected: list[Row]
) -> None:
    assert rows(FIRST, before, now) == expected


def test_looking_once_after_an_hour_finds_what_looking_every_second_finds() -> None:
    seen, found = state_at(FIRST, at(0)), []
    for second in range(3601):
        found += rows(FIRST, seen, at(0, second))
        seen = state_at(FIRST, at(0, second))

    assert found == rows(FIRST, PENDING, at(60))


def test_a_check_that_was_met_meanwhile_is_met_at_its_event() -> None:
    met = clock(case(*BEGUN, (17, FULL)), ClockName.FIRST_CHECK)
    late = clock(case(*BEGUN, (30, FULL)), ClockName.FIRST_CHECK)

    assert rows(met, OPEN, at(40)) == [(OPEN, MET, at(17))]
    assert rows(late, OVERDUE, at(40)) == [(OVERDUE, LATE, at(30))]
    assert rows(late, LATE, at(40)) == []


def test_a_check_never_made_was_overdue_before_it_was_missed() -> None:
    missed = clock(case(*BEGUN, (90, Completed())), ClockName.FIRST_CHECK)

    assert rows(missed, DUE, at(95)) == [(DUE, OVERDUE, at(20)), (OVERDUE, MISSED, at(90))]


def test_a_clock_that_lapsed_is_stamped_with_what_took_it_away() -> None:
    started = clock(case((0, Issued()), (25, Started(60))), ClockName.RETURN)
    returned = clock(case((0, Issued()), (12, Returned())), ClockName.START)

    assert rows(started, OPEN, at(95)) == [(OPEN, LAPSED, at(25))]
    assert rows(returned, OPEN, at(95)) == [(OPEN, LAPSED, at(12))]


def test_a_state_a_correction_took_away_leads_to_where_the_clock_stands() -> None:
    assert rows(FIRST, MET, at(16)) == [(MET, DUE, at(15))]


def test_every_state_has_its_boundary() -> None:
    found = Clock(
        ClockName.FATE,
        1,
        opens_at=at(1),
        due_at=at(2),
        limit_at=at(3),
        rule="fate.due_minutes",
        met_at=at(4),
        lapsed_at=at(5),
        over_at=at(6),
    )

    assert {state: crossed_at(found, state) for state in ClockState} == {
        PENDING: None,
        OPEN: at(1),
        DUE: at(2),
        OVERDUE: at(3),
        MET: at(4),
        LATE: at(4),
        LAPSED: at(5),
        MISSED: at(6),
    }
