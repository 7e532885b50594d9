"""What would have been noted of a unit, had somebody looked each second."""

from datetime import datetime, timedelta

import pytest

from server.domain.errors import Refused
from server.domain.facts import HungSet
from server.domain.noticed import noticed
from server.domain.payloads import Completed, FateRecorded, Issued, Received, Spiked, Started
from server.domain.picture import Case
from server.domain.words import ClockName, Component, Fate, Stage
from tests.domain.builders import CHECKED, FULL, SOUND, at, case, event, running, with_policy

START = ClockName.START


def _crossings(given: Case, name: ClockName, until: float) -> list[tuple[str, float, float]]:
    """What one clock came to: the state, the minute of its boundary, when it was noticed."""
    return [
        (str(one.crossing.to_state), _minute(one.crossing.at), _minute(one.noticed_at))
        for one in noticed(given, at(until)).noted
        if one.crossing.clock.name is name
    ]


def _reminders(given: Case, name: ClockName, until: float) -> list[tuple[Stage, int, float]]:
    return [
        (one.reminder.stage, one.reminder.repeat, _minute(one.raised_at))
        for one in noticed(given, at(until)).raised
        if one.reminder.clock is name
    ]


def _minute(instant: datetime) -> float:
    return round((instant - at(0)) / timedelta(minutes=1), 2)


def test_a_start_that_comes_late_was_due_overdue_and_spoken_of_until_then() -> None:
    late = case((0, Issued()), (38, SOUND), (38, CHECKED), (42, Started(60)))

    assert _crossings(late, START, 60) == [
        ("pending", 0, 0),
        ("open", 0, 0),
        ("due", 30, 30),
        ("overdue", 30, 30.02),
        ("met_late", 42, 42),
    ]
    assert _reminders(late, START, 60) == [
        (Stage.NOTICE, 0, 20),
        (Stage.DUE, 0, 30),
        (Stage.OVERDUE, 0, 30.02),
        (Stage.ESCALATE, 0, 35),
        (Stage.OVERDUE, 1, 35),
        (Stage.OVERDUE, 2, 40),
    ]


def test_what_was_charted_late_was_missed_until_then() -> None:
    """The set at 25 min met the first check in time; for a quarter of an hour nobody knew."""
    late = running(event(3, 25, FULL, recorded_at=at(46)))

    assert _crossings(late, ClockName.FIRST_CHECK, 60) == [
        ("pending", 10, 10),
        ("open", 20, 20),
        ("due", 25, 25),
        ("overdue", 30, 30.02),
        ("met", 25, 46),
    ]
    assert (Stage.SECOND_ESCALATE, 0, 45) in _reminders(late, ClockName.FIRST_CHECK, 60)


def test_a_check_that_can_no_longer_be_made_was_spoken_of_up_to_its_end() -> None:
    """Ended at 24 min: the first check is owed until 30, and missed a second later."""
    ended = running((24, Completed(280)), (70, FULL), (80, FateRecorded(Fate.TRANSFUSED)))

    assert _crossings(ended, ClockName.FIRST_CHECK, 90)[-1] == ("missed", 30.02, 30.02)
    assert _reminders(ended, ClockName.FIRST_CHECK, 90) == [
        (Stage.NOTICE, 0, 15),
        (Stage.DUE, 0, 25),
    ]


def test_a_fact_in_the_second_of_a_boundary_finds_it_crossed_and_reminds_nobody() -> None:
    given = running((25, FULL))

    assert _crossings(given, ClockName.FIRST_CHECK, 26)[-2:] == [("due", 25, 25), ("met", 25, 25)]
    assert _reminders(given, ClockName.FIRST_CHECK, 26) == [(Stage.NOTICE, 0, 15)]


def test_a_set_hung_for_another_unit_counts_once_this_one_comes_to_it() -> None:
    hung = (HungSet(at(5), Component.RED_CELLS, None),)
    given = case((0, Issued()), (10, Started(60)), line=hung, component=Component.PLATELETS)

    assert _crossings(given, ClockName.SET_CHANGE, 9) == []
    assert _crossings(given, ClockName.SET_CHANGE, 20)[-1] == ("missed", 10, 10)


@pytest.mark.parametrize("counted_from", [("removed", "issued"), ("received", "spiked")])
def test_a_limit_moves_with_what_it_is_counted_from(counted_from: tuple[str, ...]) -> None:
    policy = with_policy(finish_from=counted_from)
    given = case((0, Issued()), (6, Received()), (8, Spiked()), (10, Started(60)), policy=policy)

    first = _crossings(given, ClockName.FINISH, 20)[0]

    assert first[2] == {"removed": 0, "received": 6}[counted_from[0]]


def test_a_record_of_history_reminds_nobody() -> None:
    given = running(history=True)

    assert _crossings(given, ClockName.FIRST_CHECK, 40)[-1][0] == "overdue"
    assert noticed(given, at(40)).raised == []


def test_before_the_request_nothing_is_noted() -> None:
    assert noticed(running(), at(-121)).noted == []


def test_facts_that_could_not_be_as_they_came_in_are_refused() -> None:
    """The issue was charted after the start: whoever looked meanwhile would have seen no issue."""
    given = case(event(1, 0, Issued(), recorded_at=at(20)), (10, Started(60)))

    with pytest.raises(Refused, match="started at 10:10:00 UTC is not possible"):
        noticed(given, at(30))
