"""Why a row stands where it stands: whole sentences."""

from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from server.domain.payloads import (
    Available,
    Cancelled,
    Completed,
    Discarded,
    FateRecorded,
    Issued,
    Paused,
    ReactionSuspected,
    Returned,
    SetHung,
    Started,
    Stopped,
)
from server.domain.picture import Case
from server.domain.urgency import Urgency
from server.domain.words import Fate, Level
from tests.domain.builders import COMMON, FULL, POLICIES, Fact, at, case, look, running

ISSUED = (0, Issued(removed_at=at(-5)))
BEGUN = (ISSUED, (5, FULL))
STARTED = (*BEGUN, (10, Started(150)), (25, FULL))
ENDED = (*STARTED, (90, Completed()))
LONG_WINDOWS = replace(COMMON, start_target=timedelta(days=1), return_within=timedelta(days=1))


def reason(given: Case, now: datetime) -> str:
    return look(given, now).urgency.reason


def test_an_urgency_says_level_since_and_reason() -> None:
    assert look(case(*STARTED), at(91)).urgency == Urgency(
        Level.DUE, at(85), at(85), "Running check due since 11:25, limit 11:40."
    )


def test_what_falls_due_soon_is_soon_since_the_notice() -> None:
    assert look(case(*STARTED), at(80)).urgency == Urgency(
        Level.SOON, at(75), at(85), "Running check due 11:25, in 5 min."
    )


def test_of_several_limits_the_earliest_is_told() -> None:
    """Out of storage five minutes before the issue: the return is overdue before the start."""
    urgency = look(case(ISSUED), at(36)).urgency

    assert (urgency.since_at, urgency.reason) == (
        at(25),
        "Out of storage since 09:55, past 10:25: may no longer go back to stock.",
    )


def test_of_one_due_time_the_finish_is_told_last() -> None:
    given = running((5, FULL), (25, FULL), (85, FULL), (145, FULL), (180, FULL), rate=73.05)

    assert reason(given, at(240)) == "Running check due since 14:00, limit 14:15."


@pytest.mark.parametrize(
    ("facts", "now", "sentence"),
    [
        (
            [*STARTED, (40, ReactionSuspected())],
            at(55),
            "Suspected reaction since 10:40. Transfusion is running: not yet recorded as stopped.",
        ),
        (
            [*STARTED, (40, ReactionSuspected()), (41, Paused())],
            at(55),
            "Suspected reaction since 10:40. Transfusion is paused: not yet recorded as stopped.",
        ),
        (
            [*STARTED, (40, ReactionSuspected()), (42, Stopped("fever"))],
            at(55),
            "Suspected reaction since 10:40. Transfusion ended 10:42.",
        ),
        (STARTED, at(235, 1), "Not ended, and the finish limit 13:55 passed just now."),
        (STARTED, at(241), "Not ended, and the finish limit 13:55 passed 6 min ago."),
        ([ISSUED], at(360), "Not started, and the finish limit 13:55 passed 2 h 05 ago."),
        (
            [ISSUED],
            at(26),
            "Out of storage since 09:55, past 10:25: may no longer go back to stock.",
        ),
        (
            [ISSUED, (5, FULL), (10, Started(150))],
            at(36),
            "First check was due 10:25, limit 10:30 passed 6 min ago.",
        ),
        (
            STARTED,
            at(100, 1),
            "Running check was due 11:25, limit 11:40 passed just now.",
        ),
        (
            ENDED,
            at(170),
            "End observations were due 11:45, limit 12:30 passed 20 min ago.",
        ),
        ([*STARTED[:3], (20, FULL)], at(21), "150 mL/h, ends 11:13, 2 h 42 to spare."),
        (STARTED, at(75), "Running check due 11:25, in 10 min."),
        (STARTED, at(84, 30), "Running check due 11:25, in 1 min."),
        (ENDED, at(105), "End observations due since 11:45, limit 12:30."),
        (
            [*ENDED, (100, FULL)],
            at(150),
            "Fate of the bag due since 12:30, limit 15:30.",
        ),
        ([*ENDED, (100, FULL)], at(101), "Ended 11:30; the bag is not yet accounted for."),
        (STARTED, at(30), "150 mL/h, ends 12:02, 1 h 53 to spare."),
        ([*STARTED, (30, Paused())], at(31), "Paused, 50 mL given."),
        (
            [*BEGUN, (10, Started(300)), (25, FULL)],
            at(66),
            "All 280 mL should be in; the end is not recorded.",
        ),
        (
            [*ENDED, (100, FULL), (120, FateRecorded(Fate.TRANSFUSED))],
            at(130),
            "Transfused 12:00. Watch for late signs until Wed 11:30.",
        ),
        (
            [*ENDED, (100, FULL), (120, FateRecorded(Fate.PART_TRANSFUSED))],
            at(130),
            "Part transfused 12:00. Watch for late signs until Wed 11:30.",
        ),
        ([ISSUED, (20, Returned())], at(30), "Returned 10:20."),
        ([ISSUED, (20, Discarded("dropped"))], at(30), "Discarded 10:20."),
        ([(20, Cancelled("not needed"))], at(30), "Cancelled 10:20."),
        ([], at(30), "Requested, not yet ready."),
        ([(20, Available())], at(30), "Ready at the blood bank."),
    ],
)
def test_sentences(facts: list[Fact], now: datetime, sentence: str) -> None:
    assert reason(case(*facts), now) == sentence


def test_start_and_return_fall_due_together_when_removal_and_issue_are_one() -> None:
    given = case((0, Issued()))

    assert [reason(given, now) for now in (at(5), at(24), at(30), at(36))] == [
        "Issued 10:00, not started.",
        "Left storage 10:00 and not started. Start due 10:30, in 6 min.",
        "Start is due now, 10:30.",
        "Start was due 10:30, 6 min ago.",
    ]


def test_where_the_return_window_is_longer_the_start_is_overdue_alone() -> None:
    given = case((0, Issued()), policy=POLICIES["ca"])

    assert reason(given, at(36)) == "Start was due 10:30, 6 min ago."


def test_a_unit_that_may_go_back_longer_is_at_risk_by_its_latest_start() -> None:
    given = case((0, Issued()), policy=LONG_WINDOWS)

    assert reason(given, at(190)) == (
        "Not started; 13:04 was the latest start at 300 mL/h to end by 14:00."
    )


def test_a_slow_unit_is_at_risk_by_its_projected_end() -> None:
    given = running((5, FULL), (25, FULL))
    second_late = running((25, FULL), rate=73.04)

    assert reason(given, at(30)) == "At 60 mL/h it ends 14:50, 50 min after its limit 14:00."
    assert reason(second_late, at(30)) == (
        "At 73.04 mL/h it ends 14:00, 1 min after its limit 14:00."
    )


def test_a_rest_that_needs_more_than_the_ceiling_cannot_finish() -> None:
    given = running((25, FULL), (85, FULL), (145, FULL), (205, FULL))

    assert reason(given, at(228)) == (
        "62 mL left needs 310 mL/h, above the permitted 300: cannot finish by 14:00."
    )


def test_end_observations_due_at_their_limit_are_due_now() -> None:
    policy = replace(COMMON, end_due=timedelta(minutes=60))

    assert [reason(case(*ENDED, policy=policy), now) for now in (at(150), at(151))] == [
        "End observations are due now, 12:30.",
        "End observations were due 12:30, 1 min ago.",
    ]


def test_a_set_past_its_hours_is_overdue_by_one_time() -> None:
    given = case((0, Issued(removed_at=at(0))), (5, SetHung()), policy=LONG_WINDOWS)
    long_finish = replace(LONG_WINDOWS, finish_from=("started",), finish_respect_expiry=False)

    assert reason(replace(given, policy=long_finish), at(725)) == (
        "Giving set change is due now, 22:05."
    )
    assert reason(replace(given, policy=long_finish), at(731)) == (
        "Giving set change was due 22:05, 6 min ago."
    )


def test_without_a_rate_or_a_limit_the_sentence_says_so() -> None:
    stopped = running((25, FULL), rate=0, policy=replace(COMMON, finish_from=("received",)))
    free = case((10, Started(150)), (25, FULL), history=True)

    assert reason(stopped, at(30)) == "0 mL/h; no projected end."
    assert reason(free, at(30)) == "150 mL/h, ends 12:02; no finish limit is known."


@pytest.mark.parametrize(
    ("wanted", "sentence"),
    [
        ({"wanted_by": at(120)}, "Requested, not yet ready; wanted by 12:00."),
        ({"not_before": at(60)}, "Requested, not yet ready; not before 11:00."),
        (
            {"not_before": at(60), "wanted_by": at(120)},
            "Requested, not yet ready; wanted by 12:00.",
        ),
    ],
)
def test_a_request_says_when_it_is_wanted(wanted: dict[str, Any], sentence: str) -> None:
    assert reason(case(**wanted), at(0)) == sentence


def test_times_are_the_ward_s() -> None:
    given = case((0, Issued()), zone=ZoneInfo("Australia/Adelaide"))

    assert reason(given, at(36)) == "Start was due 21:00, 6 min ago."
