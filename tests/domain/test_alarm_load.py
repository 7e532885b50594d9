"""What came of each reminder, and how a ward's load is counted. All cases are invented."""

from datetime import UTC, datetime, timedelta
from typing import Any, Final
from zoneinfo import ZoneInfo

import pytest

from server.domain.alarm_load import AlarmLoad, Duty, Group, ShiftLoad, Spread, Tally, alarm_load
from server.domain.alarm_outcomes import Outcome, Told, judge
from server.domain.words import ClockName, ClockState, Stage
from tests.domain.builders import at

TEN: Final = timedelta(minutes=10)
FIRST: Final = ClockName.FIRST_CHECK
NOTHING: Final = Tally(0, 0, 0, 0, 0, 0, 0, 0, 0)


def told(minute: float, stage: Stage = Stage.DUE, repeat: int = 0, **fields: Any) -> Told:
    """A reminder of the first check of `e1`, raised at a minute, whose clock is overdue."""
    given: dict[str, Any] = {
        "episode_id": "e1",
        "clock": FIRST,
        "n": 1,
        "stage": stage,
        "repeat": repeat,
        "owed_at": at(minute),
        "raised_at": at(minute),
        "to": "nurse-1",
        "acknowledged_at": None,
        "met_at": None,
        "state": ClockState.OVERDUE,
    }
    return Told(**(given | fields))


def outcomes(*reminders: Told) -> list[tuple[Outcome, bool]]:
    return [(one.outcome, one.acknowledged) for one in judge(reminders, TEN)]


@pytest.mark.parametrize(
    ("minutes", "outcome"),
    [
        (9 + 59 / 60, Outcome.USEFUL),
        (10, Outcome.USEFUL),
        (10 + 1 / 60, Outcome.LATER),
        (29 + 59 / 60, Outcome.LATER),
        (30, Outcome.IGNORED),
        (30 + 1 / 60, Outcome.IGNORED),
    ],
)
def test_an_answer_counts_until_just_before_the_next_stage_and_as_useful_for_a_while(
    minutes: float, outcome: Outcome
) -> None:
    met: dict[str, Any] = {"met_at": at(minutes), "state": ClockState.MET}

    assert outcomes(told(0, **met), told(30, Stage.OVERDUE, **met))[0] == (outcome, False)


def test_whoever_takes_it_answers_and_is_counted_as_having_acknowledged() -> None:
    both: dict[str, Any] = {
        "acknowledged_at": at(8),
        "met_at": at(12),
        "state": ClockState.MET_LATE,
    }

    assert outcomes(
        told(0, Stage.NOTICE, **both),
        told(5, **both),
        told(10, Stage.OVERDUE, **both),
    ) == [(Outcome.IGNORED, False), (Outcome.USEFUL, True), (Outcome.QUIET, False)]


def test_what_calls_nobody_is_no_call() -> None:
    """Two stages raised to one person at once, after the program was down, are one call."""
    late: dict[str, Any] = {"raised_at": at(20)}

    assert outcomes(
        told(0, Stage.NOTICE, **late),
        told(10, **late),
        told(10, Stage.ESCALATE, to="charge-1", **late),
    ) == [(Outcome.QUIET, False), (Outcome.OPEN, False), (Outcome.OPEN, False)]


@pytest.mark.parametrize(
    ("state", "outcome"),
    [
        (ClockState.PENDING, Outcome.OPEN),
        (ClockState.OPEN, Outcome.OPEN),
        (ClockState.DUE, Outcome.OPEN),
        (ClockState.OVERDUE, Outcome.OPEN),
        (ClockState.MISSED, Outcome.IGNORED),
        (ClockState.LAPSED, Outcome.LAPSED),
        (None, Outcome.LAPSED),
    ],
)
def test_the_last_reminder_calls_as_long_as_its_clock_is_owed(
    state: ClockState | None, outcome: Outcome
) -> None:
    assert outcomes(told(0, state=state)) == [(outcome, False)]


@pytest.mark.parametrize(
    ("minute", "outcome"), [(-1, Outcome.MET_BEFORE), (0, Outcome.MET_BEFORE), (1, Outcome.USEFUL)]
)
def test_what_was_done_before_and_charted_afterwards_is_told_apart(
    minute: float, outcome: Outcome
) -> None:
    assert outcomes(told(0, met_at=at(minute), state=ClockState.MET)) == [(outcome, False)]


def test_each_clock_has_its_own_next_stage() -> None:
    assert (
        outcomes(
            told(0),
            told(5, clock=ClockName.FINISH),
            told(5, n=2),
            told(5, episode_id="e2"),
        )
        == [(Outcome.OPEN, False)] * 4
    )


def day() -> AlarmLoad:
    """Three units in two hours of the ward; one of them asks for nothing."""
    return alarm_load(
        [
            told(-1),
            told(0, Stage.OVERDUE, to="nurse-2"),
            told(5, Stage.ESCALATE, to="charge-1", acknowledged_at=at(7)),
            told(6, Stage.OVERDUE, 1, to="nurse-2", acknowledged_at=at(7)),
            told(65, Stage.NOTICE, clock=ClockName.START, episode_id="e2", state=None),
            told(70, Stage.ESCALATE, acknowledged_at=at(7)),
            told(120, Stage.SECOND_ESCALATE),
        ],
        at(0),
        at(120),
        useful_within=TEN,
        zone=ZoneInfo("Europe/London"),
        units={"e1", "e3"},
        duties=[
            Duty("nurse-1", at(-30), at(66)),
            Duty("nurse-2", at(-30), at(6)),
            Duty("charge-1", at(60), at(120)),
        ],
    )


def test_a_day_is_counted_by_limit_stage_hour_unit_and_shift() -> None:
    missed = NOTHING._replace(ignored=1)
    escalated = NOTHING._replace(ignored=1, quiet=1, escalated=1)
    taken = NOTHING._replace(useful=1, acknowledged=1)
    fell_away = NOTHING._replace(lapsed=1)
    hours = [NOTHING] * 24
    hours[10] = Tally(1, 0, 2, 0, 0, 0, 0, acknowledged=1, escalated=1)
    hours[11] = NOTHING._replace(quiet=1, lapsed=1)

    load = day()

    assert load == AlarmLoad(
        total=Tally(1, 0, 2, 1, 0, 1, 0, acknowledged=1, escalated=1),
        groups=(
            Group(ClockName.START, Stage.NOTICE, repeats=False, tally=fell_away),
            Group(FIRST, Stage.OVERDUE, repeats=False, tally=missed),
            Group(FIRST, Stage.OVERDUE, repeats=True, tally=taken),
            Group(FIRST, Stage.ESCALATE, repeats=False, tally=escalated),
        ),
        hours=tuple(hours),
        units=Spread(among=3, total=4, middle=1.0, most=3),
        shifts=(
            ShiftLoad("09:30", Spread(among=2, total=2, middle=1.0, most=1)),
            ShiftLoad("11:00", Spread(among=1, total=0, middle=0.0, most=0)),
        ),
    )
    assert (load.total.raised, load.total.called) == (5, 4)
    assert load.by_clock == {
        ClockName.START: fell_away,
        FIRST: Tally(1, 0, 2, 1, 0, 0, 0, acknowledged=1, escalated=1),
    }
    assert load.by_stage == {
        (Stage.NOTICE, False): fell_away,
        (Stage.OVERDUE, False): missed,
        (Stage.OVERDUE, True): taken,
        (Stage.ESCALATE, False): escalated,
    }


def test_a_quiet_period_has_nothing_of_anything() -> None:
    load = alarm_load(
        [], at(0), at(60), useful_within=TEN, zone=ZoneInfo("UTC"), units=(), duties=()
    )

    assert load == AlarmLoad(NOTHING, (), (NOTHING,) * 24, Spread(0, 0, 0.0, 0), ())


def test_the_hour_is_that_of_the_ward() -> None:
    zone, raised = ZoneInfo("Asia/Kathmandu"), datetime(2026, 3, 3, 18, 20, tzinfo=UTC)

    load = alarm_load(
        [told(0, raised_at=raised)], raised, raised + TEN, useful_within=TEN, zone=zone,
        units=(), duties=(),
    )  # fmt: skip

    assert [hour for hour, tally in enumerate(load.hours) if tally.raised] == [0]
