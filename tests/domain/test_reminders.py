"""Reminders: stages, repeats, "I have it", escalation, and catching up."""

from datetime import datetime, timedelta

import pytest

from server.domain.facts import HungSet
from server.domain.payloads import (
    Acknowledged,
    Completed,
    Issued,
    SetChanged,
    SetHung,
    Started,
    Voided,
)
from server.domain.picture import Case
from server.domain.policy import Policy
from server.domain.reminders import Reminder, acknowledgement_of
from server.domain.words import ClockName, Component, Stage
from tests.domain.builders import (
    COMMON,
    FULL,
    Fact,
    around,
    at,
    case,
    clocks,
    look,
    with_policy,
)

FIRST, RUNNING, FATE = ClockName.FIRST_CHECK, ClockName.RUNNING_CHECK, ClockName.FATE
NOTICE, DUE, OVERDUE = Stage.NOTICE, Stage.DUE, Stage.OVERDUE
ESCALATE, SECOND = Stage.ESCALATE, Stage.SECOND_ESCALATE
DAY = 24 * 60

Row = tuple[Stage, int, datetime]


def started(*facts: Fact, policy: Policy = COMMON) -> Case:
    """Started at the base: the first check is due at 15 min, its limit is 20 min."""
    return case((-10, Issued()), (-5, FULL), (0, Started(150)), *facts, policy=policy)


def owed(given: Case, now: datetime, name: ClockName = FIRST, n: int = 1) -> list[Row]:
    """Stage, repeat and stamp of what is owed to be said of one clock."""
    return [
        (reminder.stage, reminder.repeat, reminder.owed_at)
        for reminder in look(given, now).reminders
        if (reminder.clock, reminder.n) == (name, n)
    ]


def test_a_reminder_names_its_clock_stage_and_instants() -> None:
    assert look(started(), at(20, 1)).reminders == (
        Reminder(FIRST, 1, NOTICE, 0, at(5), at(5)),
        Reminder(FIRST, 1, DUE, 0, at(15), at(15)),
        Reminder(FIRST, 1, OVERDUE, 0, at(20), at(20, 1)),
    )


@pytest.mark.parametrize(
    ("boundary", "before", "reached"),
    [
        (at(5), [], [(NOTICE, 0, at(5))]),
        (at(15), [(NOTICE, 0, at(5))], [(NOTICE, 0, at(5)), (DUE, 0, at(15))]),
        (
            at(20, 1),
            [(NOTICE, 0, at(5)), (DUE, 0, at(15))],
            [(NOTICE, 0, at(5)), (DUE, 0, at(15)), (OVERDUE, 0, at(20))],
        ),
    ],
)
def test_each_stage_is_owed_from_its_second_on(
    boundary: datetime, before: list[Row], reached: list[Row]
) -> None:
    assert [owed(started(), now) for now in around(boundary)] == [before, reached, reached]


def late(given: Case, now: datetime) -> list[Row]:
    """What is owed beyond the three stages up to the limit, by stamp."""
    known = {(NOTICE, 0), (DUE, 0), (OVERDUE, 0)}
    rows = [row for row in owed(given, now) if row[:2] not in known]
    return sorted(rows, key=lambda row: (row[2], row[1]))


@pytest.mark.parametrize(
    ("boundary", "before", "after"),
    [
        (25, [], [(ESCALATE, 0, at(25)), (OVERDUE, 1, at(25))]),
        (
            30,
            [(ESCALATE, 0, at(25)), (OVERDUE, 1, at(25))],
            [(ESCALATE, 0, at(25)), (OVERDUE, 1, at(25)), (OVERDUE, 2, at(30))],
        ),
        (
            35,
            [(ESCALATE, 0, at(25)), (OVERDUE, 1, at(25)), (OVERDUE, 2, at(30))],
            [
                (ESCALATE, 0, at(25)),
                (OVERDUE, 1, at(25)),
                (OVERDUE, 2, at(30)),
                (SECOND, 0, at(35)),
                (OVERDUE, 3, at(35)),
            ],
        ),
    ],
)
def test_after_the_limit_it_repeats_and_escalates_the_second_time_counted_from_the_first(
    boundary: int, before: list[Row], after: list[Row]
) -> None:
    assert [late(started(), now) for now in around(at(boundary))] == [before, after, after]


def test_a_process_that_was_down_for_an_hour_owes_every_stage_at_its_own_instant() -> None:
    repeats = [(OVERDUE, n, at(20 + 5 * n)) for n in range(1, 13)]

    assert owed(started(), at(80)) == [
        (NOTICE, 0, at(5)),
        (DUE, 0, at(15)),
        (OVERDUE, 0, at(20)),
        (ESCALATE, 0, at(25)),
        (SECOND, 0, at(35)),
        *repeats,
    ]


def test_a_check_that_was_met_owes_nothing_more() -> None:
    assert owed(started((30, FULL)), at(30)) == []
    assert owed(started((30, FULL)), at(30, -1)) == owed(started(), at(30, -1))


def test_a_check_that_can_no_longer_be_met_owes_nothing_more() -> None:
    assert owed(started((40, Completed())), at(40)) == []


def acknowledged(minute: int | datetime, *facts: Fact) -> Case:
    return started((minute, Acknowledged(FIRST, "nurse-2")), *facts)


def test_saying_i_have_it_ends_repeats_and_escalation_and_meets_nothing() -> None:
    given = acknowledged(22)

    assert late(given, at(90)) == []
    assert owed(given, at(90)) == [(NOTICE, 0, at(5)), (DUE, 0, at(15)), (OVERDUE, 0, at(20))]


@pytest.mark.parametrize("minute", [-3, 6, 16])
def test_said_before_the_limit_the_limit_itself_is_still_called(minute: int) -> None:
    assert owed(acknowledged(minute), at(90)) == [
        (NOTICE, 0, at(5)),
        (DUE, 0, at(15)),
        (OVERDUE, 0, at(20)),
    ]


@pytest.mark.parametrize(
    ("said", "rows"),
    list(
        zip(
            around(at(25)),
            ([], [], [(ESCALATE, 0, at(25)), (OVERDUE, 1, at(25))]),
            strict=True,
        )
    ),
)
def test_a_stage_reached_before_it_was_said_stays_owed(said: datetime, rows: list[Row]) -> None:
    assert late(acknowledged(said), at(90)) == rows


@pytest.mark.parametrize(
    ("said", "second"), list(zip(around(at(35)), (False, False, True), strict=True))
)
def test_said_after_the_first_escalation_it_stops_the_second(
    said: datetime, *, second: bool
) -> None:
    stages = [stage for stage, _, _ in late(acknowledged(said), at(90))]

    assert (ESCALATE in stages, SECOND in stages) == (True, second)


def test_it_was_said_of_that_clock_only() -> None:
    given = started((22, Acknowledged(RUNNING, "nurse-2")))

    assert late(given, at(25)) == [(ESCALATE, 0, at(25)), (OVERDUE, 1, at(25))]


def test_the_first_to_say_it_counts() -> None:
    given = acknowledged(22, (28, Acknowledged(FIRST, "nurse-3")))
    (first,) = clocks(given, FIRST)
    said = acknowledgement_of(first, look(given, at(30)).standing)

    assert (said and (said.at, said.staff_id)) == (at(22), "nurse-2")


def test_taken_back_it_was_not_said() -> None:
    given = acknowledged(22, (26, Voided("e4", "other patient")))

    assert late(given, at(25)) == late(started(), at(25))


def test_a_check_that_rolls_on_is_called_again() -> None:
    """The first running check was taken at 90 min with "I have it"; the second is due at 150."""
    given = started((15, FULL), (92, Acknowledged(RUNNING, "nurse-2")), (93, FULL))

    assert owed(given, at(92), RUNNING) == [
        (NOTICE, 0, at(65)),
        (DUE, 0, at(75)),
        (OVERDUE, 0, at(90)),
    ]
    assert owed(given, at(173), RUNNING, n=2) == [
        (NOTICE, 0, at(143)),
        (DUE, 0, at(153)),
        (OVERDUE, 0, at(168)),
        (ESCALATE, 0, at(173)),
        (OVERDUE, 1, at(173)),
    ]


@pytest.mark.parametrize(
    ("said", "counts"), list(zip(around(at(93)), (False, True, True), strict=True))
)
def test_i_have_it_counts_for_the_check_whose_interval_it_falls_in(
    said: datetime, *, counts: bool
) -> None:
    given = started((15, FULL), (93, FULL), (said, Acknowledged(RUNNING, "nurse-2")))
    second = clocks(given, RUNNING)[1]
    found = acknowledgement_of(second, look(given, at(200)).standing)

    assert (found is not None) is counts


def test_a_new_giving_set_is_called_anew() -> None:
    facts: list[Fact] = [
        (-10, Issued()),
        (-2, SetHung()),
        (0, Started(10)),
        (720, Acknowledged(ClockName.SET_CHANGE, "nurse-2")),
        (721, SetChanged()),
    ]
    given = case(*facts, policy=with_policy(giving_set_life=timedelta(hours=12)))
    first, second = clocks(given, ClockName.SET_CHANGE)
    standing = look(given, at(800)).standing

    assert acknowledgement_of(first, standing) is not None
    assert acknowledgement_of(second, standing) is None


def test_a_clock_that_is_due_at_once_has_no_notice() -> None:
    given = case(
        (0, Issued()),
        component=Component.PLATELETS,
        line=(HungSet(at(-60), Component.RED_CELLS),),
    )

    assert owed(given, at(0), ClockName.SET_CHANGE) == [(DUE, 0, at(0))]


def test_a_clock_that_opens_with_the_start_has_its_notice_before_it() -> None:
    given = case((0, Issued()))

    assert owed(given, at(230), ClockName.FINISH) == [(NOTICE, 0, at(230))]


def test_due_and_overdue_of_a_clock_whose_limit_is_its_due_time_are_a_second_apart() -> None:
    given = case((0, Issued()))

    assert [owed(given, now, ClockName.START) for now in (at(30), at(30, 1))] == [
        [(NOTICE, 0, at(20)), (DUE, 0, at(30))],
        [(NOTICE, 0, at(20)), (DUE, 0, at(30)), (OVERDUE, 0, at(30))],
    ]


def test_watching_and_the_baseline_are_not_called() -> None:
    given = started((15, FULL), (40, Completed()), (50, FULL))
    names = {reminder.clock for reminder in look(given, at(20 * 60)).reminders}

    assert names == {FATE}


@pytest.mark.parametrize(
    ("now", "count"), list(zip(around(at(20 + DAY)), (287, 288, 288), strict=True))
)
def test_repeats_end_after_the_hours_of_the_policy(now: datetime, count: int) -> None:
    repeats = [row for row in owed(started(), now) if row[1]]

    assert (len(repeats), repeats[-1][2] <= at(20 + DAY)) == (count, True)
    assert len([row for row in owed(started(), at(5 * DAY)) if row[1]]) == 288
