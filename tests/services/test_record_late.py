"""What is recorded late counts at the instant at which it happened."""

from datetime import timedelta

import pytest

from server.domain.payloads import Assigned, Issued, Note, Started
from server.domain.words import ClockName, ClockState, Stage
from tests.domain.builders import at
from tests.services.charting import BEFORE_START, Charting, ids_of
from tests.services.engines import ON_BOTH_ENGINES


def test_a_fact_recorded_late_finds_its_limits_passed_already(charting: Charting) -> None:
    charting.open()

    charting.record(0, Issued(), now=at(120))

    assert charting.clock_states() == {
        "start:1": ClockState.OVERDUE,
        "return:1": ClockState.OVERDUE,
        "finish:1": ClockState.PENDING,
    }
    assert [(one.to_state, one.at) for one in charting.transitions() if one.clock == "start"] == [
        (ClockState.PENDING, at(120)),
        (ClockState.OPEN, at(0)),
        (ClockState.DUE, at(30)),
        (ClockState.OVERDUE, at(30)),
    ]


@ON_BOTH_ENGINES
def test_stages_that_passed_before_it_was_recorded_are_raised_at_once(charting: Charting) -> None:
    charting.open()

    charting.record(0, Issued(), now=at(41))

    raised = charting.reminders(clock=ClockName.START)
    assert {(one.stage, one.repeat, one.owed_at, one.raised_at) for one in raised} == {
        (Stage.NOTICE, 0, at(20), at(41)),
        (Stage.DUE, 0, at(30), at(41)),
        (Stage.OVERDUE, 0, at(30), at(41)),
        (Stage.OVERDUE, 1, at(35), at(41)),
        (Stage.OVERDUE, 2, at(40), at(41)),
        (Stage.ESCALATE, 0, at(35), at(41)),
    }


@ON_BOTH_ENGINES
def test_a_late_entry_lets_in_the_sets_of_its_own_time(charting: Charting) -> None:
    five_days = 5 * 24 * 60
    charting.observe(-5)
    charting.open(now=five_days)

    charting.record(0, Issued(), now=at(five_days))
    for payload in (*BEFORE_START, Started(60)):
        charting.record(5, payload, now=at(five_days + 1))

    assert charting.clocks()["baseline_check:1"].met_at == at(-5)
    assert charting.rebuild(five_days + 1).differed == ()


@pytest.mark.parametrize("minutes", [3, 5 * 24 * 60])
def test_a_late_entry_alone_leaves_nothing_to_rebuild(charting: Charting, minutes: int) -> None:
    charting.observe(-5)
    charting.open(now=minutes)

    charting.record(0, Note("asked for by telephone"), now=at(minutes))

    assert charting.state().revision == 2
    assert charting.rebuild(minutes).differed == ()


def test_the_latest_assignment_at_the_bedside_counts_not_the_latest_recorded(
    charting: Charting,
) -> None:
    charting.open()
    charting.record(10, Assigned("nurse-2"))

    charting.record(5, Assigned("nurse-1"), now=at(20))

    assert charting.state().nurse_id == "nurse-2"


@pytest.mark.parametrize(
    ("requested_at", "first_at"),
    [(None, at(-60)), (at(-90), at(-90)), (at(-59), at(-60))],
    ids=["not told", "told", "by a clock that is ahead"],
)
def test_a_unit_stands_on_the_board_from_its_request(
    charting: Charting, requested_at: object, first_at: object
) -> None:
    charting.open(requested_at=requested_at, now=-60)

    charting.issue(minute=3 * 24 * 60)

    assert charting.state().first_at == first_at
    assert ids_of(charting.board(-60)) == ["e1"]


def test_without_a_time_of_request_it_stood_for_a_day_before_its_first_fact(
    charting: Charting,
) -> None:
    charting.open(now=60)

    charting.record(0, Issued(), now=at(61))

    assert charting.state().first_at == at(0) - timedelta(days=1)
