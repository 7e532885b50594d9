"""When nobody is there: breaks without cover, second checks, starts. To the minute, in words."""

import pytest

from server.domain.cover import Cover
from server.domain.workload.capacity import OnDuty
from server.domain.workload.finding import Snag, WorkFinding
from server.domain.workload.task import Task, Work
from tests.domain.builders import at
from tests.domain.snags import PEOPLE, found, words
from tests.domain.working import period, shift, task


def cover(covering: str, covered: str, begin: int, end: int) -> Cover:
    return Cover("c", "ward-1", covering, covered, at(begin), at(end), at(-5), "charge-1")


def test_a_break_without_cover_is_told_for_those_who_have_units() -> None:
    people = (shift("nurse-1", breaks=(period(60, 90),)), *PEOPLE[1:])

    alone = found([], people, holding=["nurse-1"])

    assert alone == (WorkFinding(Snag.NO_COVER, period(60, 90), ("nurse-1",)),)
    assert words([], people, holding=["nurse-1"]) == [
        "Nia Cole is on a break 11:00–11:30 and nobody covers"
    ]
    assert found([], people) == found([], people, holding=["nurse-2"]) == ()


def test_a_cover_closes_the_part_of_the_break_that_it_lasts() -> None:
    people = (shift("nurse-1", breaks=(period(60, 90),)), *PEOPLE[1:])
    covers = [cover("nurse-2", "nurse-1", 65, 80), cover("nurse-3", "nurse-2", 70, 75)]

    told = found([], people, holding=["nurse-1"], covers=covers, within=period(62, 480))

    assert [one.period for one in told] == [period(62, 65), period(80, 90)]


def test_whoever_covers_may_be_on_a_break_too() -> None:
    people = (
        shift("nurse-1", breaks=(period(60, 90),)),
        shift("nurse-2", breaks=(period(70, 80),)),
        PEOPLE[2],
    )
    covers = [cover("nurse-2", "nurse-1", 60, 90)]

    assert words([], people, holding=["nurse-1"], covers=covers) == [
        "Bo Lund, who covers for Nia Cole, is on a break 11:10–11:20"
    ]


CHECK = task(Work.CHECK_AND_START, 60, 15)
UNNAMED = task(Work.SECOND_CHECK, 60, 7, staff=None)


@pytest.mark.parametrize(
    ("other", "busy", "is_missing"),
    [
        (shift("nurse-2"), None, False),
        (shift("nurse-2", may_second=False), None, True),
        (shift("nurse-2", breaks=(period(66, 80),)), None, True),
        (shift("nurse-2", breaks=(period(67, 80),)), None, False),
        (shift("nurse-2", 0, 66), None, True),
        (shift("nurse-2"), task(Work.FINISH, 55, staff="nurse-2", bed="9"), False),
        (shift("nurse-2"), task(Work.FINISH, 56, staff="nurse-2", bed="9"), True),
        (
            shift("nurse-2"),
            task(Work.FIRST_CHECK, 60, staff="nurse-2", bed="9", window=(55, 65)),
            False,
        ),
    ],
)
def test_a_second_check_needs_somebody_else_trained_and_free(
    other: OnDuty, busy: Task | None, *, is_missing: bool
) -> None:
    tasks = [CHECK, UNNAMED, *([busy] if busy else [])]
    within = period(60, 67)

    missing = (WorkFinding(Snag.NO_SECOND, period(60, 67), (), (UNNAMED,)),)
    assert found(tasks, (shift("nurse-1"), other), within=within) == (missing if is_missing else ())


def test_a_missing_second_person_is_said_in_words() -> None:
    assert words([CHECK, UNNAMED], (shift("nurse-1"),), within=period(60, 67)) == [
        "Nobody trained is free for the second check bed 4 11:00–11:07"
    ]
    named = [CHECK, task(Work.SECOND_CHECK, 60, 7, staff="nurse-2")]
    assert found(named, PEOPLE, within=period(60, 67)) == ()


@pytest.mark.parametrize(
    ("second", "expected"),
    [
        (shift("nurse-2"), []),
        (shift("nurse-2", may_start=False), [(60, 90)]),
        (shift("nurse-2", 0, 75), [(75, 90)]),
        (shift("nurse-2", 0, 76), []),
    ],
)
def test_a_stretch_in_which_nobody_can_start_a_unit_is_told_from_a_quarter_of_an_hour_on(
    second: OnDuty, expected: list[tuple[int, int]]
) -> None:
    people = (shift("nurse-1", breaks=(period(60, 90),)), second)

    assert found([], people, within=period(0, 240)) == tuple(
        WorkFinding(Snag.NOBODY_TO_START, period(*one)) for one in expected
    )


def test_locked_work_keeps_somebody_from_starting_another_unit() -> None:
    busy = [task(Work.CHECK_AND_START, 30, 15), task(Work.WATCH, 45, 15)]

    assert words(busy, (shift("nurse-1"),), within=period(0, 90)) == [
        "Nobody who may start a unit is free 10:30–11:00"
    ]
