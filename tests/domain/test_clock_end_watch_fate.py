"""After the unit: end observations, late watch and the fate of the bag."""

from datetime import datetime

import pytest

from server.domain.clock import Clock
from server.domain.payloads import (
    Cancelled,
    Completed,
    Discarded,
    FateRecorded,
    Issued,
    Payload,
    Returned,
    Started,
    Stopped,
)
from server.domain.words import ClockName, ClockState, Fate
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
)

MET, LATE, MISSED = ClockState.MET, ClockState.MET_LATE, ClockState.MISSED
OPEN, DUE, OVERDUE = ClockState.OPEN, ClockState.DUE, ClockState.OVERDUE
PENDING, LAPSED = ClockState.PENDING, ClockState.LAPSED
GIVEN = ((-100, Issued()), (-90, Started(150)), (-75, FULL))
DAY = 24 * 60


def after_end(*facts: Fact, ending: Payload | None = None) -> list[Fact]:
    """Ended at the base."""
    return [*GIVEN, (0, ending or Completed()), *facts]


def end_check(*facts: Fact) -> list[ClockState]:
    """How the end check stands two days later."""
    return states(case(*after_end(*facts)), ClockName.END_CHECK, at(2 * DAY))


def test_a_running_unit_owes_none_of_the_three() -> None:
    names = (ClockName.END_CHECK, ClockName.LATE_WATCH, ClockName.FATE)

    assert [clocks(case(*GIVEN), name) for name in names] == [[], [], []]


@pytest.mark.parametrize("ending", [Completed(), Stopped("vein lost")])
def test_each_is_counted_from_the_end(ending: Payload) -> None:
    given = case(*after_end(ending=ending))

    assert clock(given, ClockName.END_CHECK) == Clock(
        ClockName.END_CHECK,
        1,
        at(0),
        at(15),
        at(60),
        "end.limit_minutes",
        over_at=at(DAY, 1),
    )
    assert clock(given, ClockName.LATE_WATCH) == Clock(
        ClockName.LATE_WATCH, 1, at(0), None, at(DAY), "late_watch.hours", lapsed_at=at(DAY, 1)
    )
    assert clock(given, ClockName.FATE) == Clock(
        ClockName.FATE, 1, at(0), at(60), at(240), "fate.due_minutes"
    )


def test_the_end_check_unmet_goes_through_its_states_at_each_boundary() -> None:
    given = case(*after_end())
    boundaries = (*around(at(15)), *around(at(60)), *around(at(DAY)))

    assert states(given, ClockName.END_CHECK, at(0), *boundaries) == [
        OPEN,
        OPEN,
        DUE,
        DUE,
        DUE,
        DUE,
        OVERDUE,
        OVERDUE,
        OVERDUE,
        MISSED,
    ]


@pytest.mark.parametrize(
    ("taken", "state"),
    [
        *zip(around(at(0)), (MISSED, MET, MET), strict=True),
        *zip(around(at(60)), (MET, MET, LATE), strict=True),
        *zip(around(at(DAY)), (LATE, LATE, MISSED), strict=True),
    ],
)
def test_a_set_from_the_end_to_the_limit_meets_it_and_within_the_watch_late(
    taken: datetime, state: ClockState
) -> None:
    assert end_check((taken, FULL)) == [state]


def test_the_first_full_set_after_the_end_counts() -> None:
    given = case(*after_end((10, PARTIAL), (20, FULL), (90, FULL)))

    assert clock(given, ClockName.END_CHECK).met_at == at(20)


def test_the_late_watch_is_open_until_its_limit_and_then_no_longer_owed() -> None:
    given = case(*after_end())

    assert states(given, ClockName.LATE_WATCH, *around(at(0)), *around(at(DAY))) == [
        PENDING,
        OPEN,
        OPEN,
        OPEN,
        OPEN,
        LAPSED,
    ]


def test_the_fate_unrecorded_falls_due_and_overdue_and_stays_owed() -> None:
    given = case(*after_end())

    assert states(given, ClockName.FATE, *around(at(60)), *around(at(240)), at(30 * DAY)) == [
        OPEN,
        DUE,
        DUE,
        DUE,
        DUE,
        OVERDUE,
        OVERDUE,
    ]


@pytest.mark.parametrize(
    ("recorded", "state"), list(zip(around(at(240)), (MET, MET, LATE), strict=True))
)
def test_the_fate_recorded_up_to_the_limit_meets_it(recorded: datetime, state: ClockState) -> None:
    given = case(*after_end((recorded, FateRecorded(Fate.TRANSFUSED))))

    assert states(given, ClockName.FATE, recorded, at(2 * DAY)) == [state, state]


@pytest.mark.parametrize("away", [Returned("empty bag to the laboratory"), Discarded("empty")])
def test_a_bag_that_moves_after_the_end_is_counted_from_its_last_movement(away: Payload) -> None:
    given = case(*after_end((40, away)))

    assert clock(given, ClockName.FATE) == Clock(
        ClockName.FATE, 1, at(40), at(100), at(280), "fate.due_minutes"
    )


@pytest.mark.parametrize("away", [Returned(), Discarded("dropped")])
def test_a_unit_that_was_never_started_has_its_fate_with_its_movement(away: Payload) -> None:
    given = case((0, Issued()), (20, away))

    assert clock(given, ClockName.FATE) == Clock(
        ClockName.FATE, 1, at(20), at(80), at(260), "fate.due_minutes", met_at=at(20)
    )


def test_a_cancelled_request_has_no_bag_to_account_for() -> None:
    assert clocks(case((0, Cancelled("not needed"))), ClockName.FATE) == []
