"""Breaches: what stays on record as not kept, with its cause."""

from dataclasses import replace
from datetime import datetime, timedelta

from server.domain.breaches import Breach
from server.domain.payloads import (
    CauseGiven,
    Completed,
    Issued,
    Paused,
    Returned,
    Started,
    Stopped,
    Voided,
)
from server.domain.picture import Case
from server.domain.words import ClockName, ClockState
from tests.domain.builders import (
    COMMON,
    FULL,
    Fact,
    around,
    at,
    case,
    look,
    running,
    with_policy,
)


def breaches(given: Case, now: datetime) -> tuple[Breach, ...]:
    return look(given, now).breaches


LATE: tuple[Fact, ...] = ((0, Issued()), (40, Started(150)), (70, FULL), (90, Completed()))


def test_breaches_stand_by_their_limits_with_how_late_they_were() -> None:
    """Start 10 min late, no baseline, first check 10 min late, end check open for 65 min."""
    assert breaches(case(*LATE), at(155)) == (
        Breach(ClockName.START, 1, at(30), at(40), 10.0, ClockState.MET_LATE, None, None),
        Breach(ClockName.BASELINE_CHECK, 1, at(40), None, None, ClockState.MISSED, None, None),
        Breach(ClockName.FIRST_CHECK, 1, at(60), at(70), 10.0, ClockState.MET_LATE, None, None),
        Breach(ClockName.END_CHECK, 1, at(150), None, 5.0, ClockState.OVERDUE, None, None),
    )


def test_a_breach_happens_a_second_after_its_limit() -> None:
    given = case((0, Issued()), policy=with_policy(return_within=timedelta(hours=8)))

    assert [breaches(given, now) for now in around(at(30))] == [
        (),
        (),
        (Breach(ClockName.START, 1, at(30), None, 0.02, ClockState.OVERDUE, None, None),),
    ]


def test_a_unit_returned_late_was_returned_late_and_never_started() -> None:
    assert breaches(case((0, Issued()), (45, Returned())), at(50)) == (
        Breach(ClockName.START, 1, at(30), None, None, ClockState.MISSED, None, None),
        Breach(ClockName.RETURN, 1, at(30), at(45), 15.0, ClockState.MET_LATE, None, None),
    )


def causes(*facts: Fact) -> list[tuple[ClockName, int, str | None, str | None]]:
    given = running((5, FULL), (15 + 25, FULL), (150, FULL), (290, FULL), *facts)
    return [
        (breach.clock, breach.n, breach.cause, breach.cause_text)
        for breach in breaches(given, at(300))
        if breach.clock in {ClockName.FIRST_CHECK, ClockName.RUNNING_CHECK}
    ]


def test_a_cause_is_given_for_one_breach_or_for_all_of_a_clock() -> None:
    everything = CauseGiven(ClockName.RUNNING_CHECK, "busy", "two units at once")
    second = CauseGiven(ClockName.RUNNING_CHECK, "patient asleep", n=2)

    assert causes() == [
        (ClockName.FIRST_CHECK, 1, None, None),
        (ClockName.RUNNING_CHECK, 1, None, None),
        (ClockName.RUNNING_CHECK, 2, None, None),
    ]
    assert causes((295, everything), (296, second)) == [
        (ClockName.FIRST_CHECK, 1, None, None),
        (ClockName.RUNNING_CHECK, 1, "busy", "two units at once"),
        (ClockName.RUNNING_CHECK, 2, "patient asleep", None),
    ]


def test_a_cause_of_all_breaches_explains_none_that_came_after_it() -> None:
    early = (200, CauseGiven(ClockName.RUNNING_CHECK, "busy"))

    assert [(clock, n, cause) for clock, n, cause, _ in causes(early)] == [
        (ClockName.FIRST_CHECK, 1, None),
        (ClockName.RUNNING_CHECK, 1, "busy"),
        (ClockName.RUNNING_CHECK, 2, None),
    ]


def test_the_last_cause_given_counts_unless_it_was_taken_back() -> None:
    first = (295, CauseGiven(ClockName.FIRST_CHECK, "busy"))
    other = (296, CauseGiven(ClockName.FIRST_CHECK, "not charted"))

    assert causes(first, other)[0] == (ClockName.FIRST_CHECK, 1, "not charted", None)
    assert causes(first, other, (297, Voided("e8", "slip")))[0] == (
        ClockName.FIRST_CHECK,
        1,
        "busy",
        None,
    )


def test_a_stopped_unit_past_its_limit_breaches_the_finish() -> None:
    policy = replace(COMMON, running_every=timedelta(0))
    given = running((5, FULL), (25, FULL), (250, Stopped("slow")), policy=policy)

    assert breaches(given, at(251)) == (
        Breach(ClockName.FINISH, 1, at(240), at(250), 10.0, ClockState.MET_LATE, None, None),
    )
    assert breaches(running((5, FULL), (25, FULL), (30, Paused()), policy=policy), at(240)) == ()
