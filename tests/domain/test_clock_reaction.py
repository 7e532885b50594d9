"""The checks of a suspected reaction: at once, then every quarter of an hour, until it is closed.

Eastern Health, Canada, transfusion reactions page: vital signs every 15 min. The grace of 5 min and
the end after 24 h are project defaults.
"""

from datetime import datetime, timedelta

import pytest

from server.domain.clock import Clock, state_at
from server.domain.payloads import (
    Acknowledged,
    Completed,
    FateRecorded,
    Issued,
    Observed,
    ReactionClosed,
    ReactionSuspected,
    Started,
    Stopped,
    Voided,
)
from server.domain.picture import Case, picture
from server.domain.policy import Policy
from server.domain.reminders import acknowledgement_of
from server.domain.words import ClockName, ClockState, Fate, Stage
from tests.domain.builders import (
    COMMON,
    FULL,
    PARTIAL,
    Fact,
    around,
    at,
    case,
    clocks,
    look,
    states,
    with_policy,
)

CHECK = ClockName.REACTION_CHECK
MET, LATE, MISSED = ClockState.MET, ClockState.MET_LATE, ClockState.MISSED
DUE, OVERDUE = ClockState.DUE, ClockState.OVERDUE
PENDING, LAPSED = ClockState.PENDING, ClockState.LAPSED
DAY = 24 * 60


def suspected(*facts: Fact, policy: Policy = COMMON) -> Case:
    """Started at the base, a reaction suspected at 30 min, with the facts."""
    begun: tuple[Fact, ...] = ((-10, Issued()), (-5, FULL), (0, Started(60)), (15, FULL))
    return case(*begun, (30, ReactionSuspected()), *facts, policy=policy)


def rows(given: Case, now: datetime) -> list[tuple[int, datetime | None, ClockState]]:
    """Number, due time and state of each check."""
    return [(clock.n, clock.due_at, state_at(clock, now)) for clock in clocks(given, CHECK)]


def reminded(given: Case, now: datetime) -> list[tuple[ClockName, Stage]]:
    return [(one.clock, one.stage) for one in look(given, now).reminders]


def test_none_is_owed_while_no_reaction_is_suspected() -> None:
    assert clocks(case((-10, Issued()), (0, Started(60))), CHECK) == []


def test_the_first_is_owed_at_once() -> None:
    rule = "reaction.every_minutes"

    assert clocks(suspected(), CHECK) == [
        Clock(CHECK, 1, at(30), at(30), at(35), rule, None, None, at(30 + DAY))
    ]


@pytest.mark.parametrize(
    ("boundary", "expected"),
    [(at(30), [PENDING, DUE, DUE]), (at(35), [DUE, DUE, OVERDUE])],
)
def test_the_first_stands_by_the_second(boundary: datetime, expected: list[ClockState]) -> None:
    assert states(suspected(), CHECK, *around(boundary)) == expected


@pytest.mark.parametrize(
    ("second", "met_at", "state"),
    [(-1, None, OVERDUE), (0, at(30), MET), (300, at(35), MET), (301, at(35, 1), LATE)],
)
def test_a_full_set_from_the_suspicion_on_meets_it(
    second: int, met_at: datetime | None, state: ClockState
) -> None:
    given = suspected((at(30, second), FULL))

    first = clocks(given, CHECK)[0]
    assert (first.met_at, state_at(first, at(40))) == (met_at, state)


def test_a_partial_set_meets_none() -> None:
    assert rows(suspected((31, PARTIAL)), at(32)) == [(1, at(30), DUE)]


def test_each_set_restarts_the_interval() -> None:
    given = suspected((31, FULL), (40, FULL), (62, FULL))

    assert rows(given, at(63)) == [
        (1, at(30), MET),
        (2, at(46), MET),
        (3, at(55), LATE),
        (4, at(77), PENDING),
    ]


def test_the_end_of_the_unit_changes_nothing() -> None:
    ended = suspected(
        (32, Stopped("suspected reaction")), (33, FULL), (40, FateRecorded(Fate.PART_TRANSFUSED))
    )

    assert rows(ended, at(49)) == [(1, at(30), MET), (2, at(48), DUE)]


def test_closing_in_time_takes_the_check_away() -> None:
    given = suspected((31, FULL), (46, ReactionClosed("none")))

    assert rows(given, at(60)) == [(1, at(30), MET), (2, at(46), LAPSED)]


@pytest.mark.parametrize(
    ("closed", "state"), list(zip(around(at(51)), (LAPSED, LAPSED, MISSED), strict=True))
)
def test_closing_after_the_limit_leaves_it_missed(closed: datetime, state: ClockState) -> None:
    given = suspected((31, FULL), (closed, ReactionClosed("none")))

    assert rows(given, at(60))[-1] == (2, at(46), state)


def test_a_set_after_the_closing_belongs_to_no_check() -> None:
    given = suspected((31, FULL), (40, ReactionClosed("none")), (41, FULL))

    assert rows(given, at(60)) == [(1, at(30), MET), (2, at(46), LAPSED)]


def test_a_set_in_the_second_of_the_closing_is_the_last() -> None:
    assert rows(suspected((31, ReactionClosed("none")), (31, FULL)), at(40)) == [(1, at(30), MET)]


def test_a_new_suspicion_counts_on_and_is_owed_at_once() -> None:
    given = suspected((31, FULL), (40, ReactionClosed("none")), (90, ReactionSuspected()))

    assert rows(given, at(91)) == [(1, at(30), MET), (2, at(46), LAPSED), (3, at(90), DUE)]


def test_a_suspicion_that_is_voided_owed_nothing() -> None:
    assert rows(suspected((31, Voided("e5", "wrong bed"))), at(60)) == []


def test_nobody_is_asked_for_ever() -> None:
    """What is unmet when the hours of the policy are over is missed, and none follows."""
    short = with_policy(reaction_checks_for=timedelta(hours=1))
    given = suspected((31, FULL), policy=short)
    to_the_end = suspected(*((minute, FULL) for minute in (31, 46, 61, 76, 90)), policy=short)

    assert rows(given, at(89)) == [(1, at(30), MET), (2, at(46), OVERDUE)]
    assert rows(given, at(90)) == [(1, at(30), MET), (2, at(46), MISSED)]
    assert [n for n, _, _ in rows(to_the_end, at(200))] == [1, 2, 3, 4, 5]


def test_a_check_that_would_fall_after_the_end_is_not_begun() -> None:
    short = with_policy(reaction_checks_for=timedelta(hours=1))

    assert rows(suspected((80, FULL), policy=short), at(85)) == [(1, at(30), LATE)]


def test_a_policy_without_an_interval_owes_none() -> None:
    assert rows(suspected(policy=with_policy(reaction_every=timedelta(0))), at(60)) == []


def test_one_set_serves_the_running_check_as_well() -> None:
    given = suspected((31, FULL))
    running = clocks(given, ClockName.RUNNING_CHECK)

    assert [(clock.due_at, clock.met_at) for clock in running] == [
        (at(75), at(31)),
        (at(91), None),
    ]


def test_one_act_is_asked_for_once() -> None:
    """While the checks of the reaction are owed, the other checks of vital signs are silent."""
    late = suspected((31, FULL))

    assert states(late, ClockName.RUNNING_CHECK, at(120), n=2) == [OVERDUE]
    assert {name for name, _ in reminded(late, at(120))} == {CHECK}


def test_what_is_still_unmet_after_the_closing_is_asked_for_again() -> None:
    closed = suspected((31, FULL), (120, ReactionClosed("none")))

    asked = reminded(closed, at(121))
    assert (ClockName.RUNNING_CHECK, Stage.OVERDUE) in asked
    assert CHECK not in {name for name, _ in asked}


def test_the_end_set_is_not_asked_for_twice() -> None:
    ended = suspected((31, Stopped("suspected reaction")))

    assert {name for name, _ in reminded(ended, at(50))} == {CHECK}


def test_there_is_no_notice_before_it() -> None:
    assert reminded(suspected((31, FULL)), at(46)) == [(CHECK, Stage.DUE)]


@pytest.mark.parametrize(("said", "counts"), [(30, False), (31, True), (47, True)])
def test_who_has_one_check_has_not_the_next(said: int, *, counts: bool) -> None:
    given = suspected((31, FULL), (said, Acknowledged(CHECK, "nurse-2")))
    second = clocks(given, CHECK)[1]

    found = acknowledgement_of(second, look(given, at(50)).standing)
    assert (found is not None) is counts


def test_a_late_check_is_a_breach_and_a_chain_is_not() -> None:
    given = suspected((61, FULL), (76, FULL))

    breaches = [(one.clock, one.n, one.late_minutes) for one in picture(given, at(77)).breaches]
    assert breaches == [(CHECK, 1, 26)]


def test_a_set_of_symptoms_alone_meets_none() -> None:
    assert rows(suspected((31, Observed(symptoms=("fever",)))), at(32)) == [(1, at(30), DUE)]


def test_the_late_watch_goes_on_after_the_closing() -> None:
    given = suspected((31, Completed()), (60, ReactionClosed("none")))

    assert states(given, ClockName.LATE_WATCH, at(61)) == [ClockState.OPEN]
