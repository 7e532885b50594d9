"""What does not work out: to the minute, as whole values, and in words."""

from datetime import UTC

import pytest

from server.domain.workload.capacity import Duty
from server.domain.workload.finding import Snag, WorkFinding
from server.domain.workload.projection import LeftOut, NotKnown
from server.domain.workload.task import Task, Work
from server.domain.workload.wording import NOT_KNOWN, finding_words, findings_words, left_out_words
from tests.domain.snags import NAMES, PEOPLE, found, words
from tests.domain.working import period, shift, task

FIRST = task(Work.FIRST_CHECK, 290, 10)
SECOND = task(Work.SECOND_CHECK, 285, 15, unit="episode-2", bed="7")


def test_two_locked_tasks_of_one_person_collide_where_they_overlap() -> None:
    assert found([FIRST, SECOND]) == (
        WorkFinding(Snag.COLLISION, period(290, 300), ("nurse-1",), (SECOND, FIRST)),
    )
    assert found([FIRST, SECOND])[0].episode_ids == ("episode-2", "episode-1")
    assert words([FIRST, SECOND]) == [
        "Nia Cole: second check bed 7 and first check bed 4 collide 14:50–15:00"
    ]


def test_what_collides_over_the_very_same_stretch_is_told_in_one_line() -> None:
    """Of four units that one person watches at once every two collide: six findings."""
    watched = [
        task(Work.WATCH, 285, 15, unit=f"episode-{bed}", bed=f"{bed}") for bed in (12, 7, 9, 4)
    ]
    other = [
        task(Work.WATCH, 285, 15, unit=f"other-{bed}", bed=f"{bed}", staff="nurse-2")
        for bed in (1, 2)
    ]
    check = task(Work.SECOND_CHECK, 290, 10, unit="episode-20", bed="20")

    findings = found([*watched, *other])

    assert len(findings) == 6 + 1
    assert findings_words(findings, NAMES, UTC) == (
        "Nia Cole: watched first minutes beds 4, 7, 9 and 12 collide 14:45–15:00",
        "Bo Lund: watched first minutes beds 1 and 2 collide 14:45–15:00",
    )
    assert findings_words(found([*watched[:2], check]), NAMES, UTC) == (
        "Nia Cole: watched first minutes beds 7 and 12 collide 14:45–15:00",
        "Nia Cole: watched first minutes beds 7 and 12 and second check bed 20 collide 14:50–15:00",
    )


@pytest.mark.parametrize(
    ("earliest", "latest", "collides"),
    [(275, 290, False), (276, 290, True), (276, 299, True), (276, 300, False)],
)
def test_a_check_collides_only_if_its_window_leaves_no_other_place(
    earliest: int, latest: int, *, collides: bool
) -> None:
    """Ten minutes clear of 14:45 to 15:00 begin by 14:35, or from 15:00 on."""
    movable = task(Work.FIRST_CHECK, 290, 10, window=(earliest, latest))

    assert [one.tasks for one in found([movable, SECOND])] == [(SECOND, movable)] * collides


def test_work_at_one_bed_in_a_row_or_of_different_people_is_no_collision() -> None:
    other = task(Work.SECOND_CHECK, 285, 15, staff="nurse-2", unit="episode-2", bed="7")
    row = task(Work.SECOND_CHECK, 275, 15, unit="episode-2", bed="7")
    same_bed = task(Work.END_CHECK, 290, 5, unit="episode-2")

    assert found([FIRST, other]) == ()
    assert found([FIRST, row]) == ()
    assert found([FIRST, same_bed]) == ()


def starting(begin: int, number: int) -> list[Task]:
    """A check of 15 min and a watched quarter of an hour, each by somebody else."""
    where = {"unit": f"episode-{number}", "bed": f"{number}", "staff": f"nurse-{number}"}
    check = task(Work.CHECK_AND_START, begin, 15, **where)  # type: ignore[arg-type]
    return [check, task(Work.WATCH, begin + 15, 15, **where)]  # type: ignore[arg-type]


def test_more_starts_than_the_ward_allows_are_told_once_for_the_whole_stretch() -> None:
    tasks = [*starting(0, 1), *starting(10, 2), *starting(20, 3)]

    crowd = found(tasks, rules={"most_starts": 1})

    assert crowd == (
        WorkFinding(
            Snag.TOO_MANY_STARTS,
            period(10, 40),
            (),
            tuple(sorted(tasks, key=lambda one: one.at)),
            allowed=1,
        ),
    )
    assert words(tasks, rules={"most_starts": 1}) == [
        "More than 1 starts at once 10:10–10:40: beds 1, 2 and 3"
    ]
    assert [one.period for one in found(tasks, rules={"most_starts": 2})] == [period(20, 30)]
    assert found(tasks, rules={"most_starts": 3}) == found(tasks) == ()


def test_starts_that_follow_each_other_are_not_at_once() -> None:
    assert found([*starting(0, 1), *starting(30, 2)], rules={"most_starts": 1}) == ()


@pytest.mark.parametrize(
    ("begin", "falls"), [(30, None), (31, (60, 61)), (60, (60, 90)), (89, (89, 90)), (90, None)]
)
def test_a_start_falls_into_a_handover_with_its_watched_beginning(
    begin: int, falls: tuple[int, int] | None
) -> None:
    tasks = starting(begin, 1)

    expected = (
        ()
        if falls is None
        else (WorkFinding(Snag.HANDOVER, period(*falls), ("nurse-1",), tuple(tasks)),)
    )
    assert found(tasks, rules={"handovers": (period(60, 90),)}) == expected


def test_a_start_that_can_come_after_the_handover_does_not_fall_into_it() -> None:
    late = task(Work.CHECK_AND_START, 80, 15, window=(80, 90), staff=None)
    fixed = task(Work.CHECK_AND_START, 80, 15, window=(80, 89), staff=None)
    begun = task(Work.WATCH, 80, 10)
    rules = {"handovers": (period(60, 90),)}

    assert found([late], rules=rules) == ()
    assert words([fixed], rules=rules) == ["Bed 4: the start falls into the handover 11:20–11:30"]
    assert found([begun], rules=rules) == ()


RESTING = shift("nurse-1", breaks=(period(60, 90),), duties=(Duty(period(120, 150), "round"),))


@pytest.mark.parametrize(
    ("one", "expected"),
    [
        (task(Work.FINISH, 50, 10), None),
        (task(Work.FINISH, 51, 10), (Snag.BREAK, 60, 61)),
        (task(Work.FINISH, 89, 10), (Snag.BREAK, 89, 90)),
        (task(Work.FINISH, 90, 10), None),
        (task(Work.FINISH, 125, 10), (Snag.DUTY, 125, 135)),
        (task(Work.FIRST_CHECK, 70, window=(55, 75)), None),
        (task(Work.FIRST_CHECK, 70, window=(56, 90)), None),
        (task(Work.FIRST_CHECK, 70, window=(56, 89)), (Snag.BREAK, 70, 75)),
    ],
)
def test_work_that_cannot_lie_outside_a_break_or_duty_is_told(
    one: Task, expected: tuple[Snag, int, int] | None
) -> None:
    findings = found([one], (RESTING, *PEOPLE[1:]))

    if expected is None:
        assert findings == ()
    else:
        snag, begin, end = expected
        assert findings == (WorkFinding(snag, period(begin, end), ("nurse-1",), (one,)),)


def test_breaks_and_duties_are_said_in_words() -> None:
    tasks = [task(Work.FINISH, 60, 10), task(Work.RUNNING_CHECK, 120, unit="episode-2", bed="7")]

    assert words(tasks, (RESTING, *PEOPLE[1:])) == [
        "Nia Cole: take-down bed 4 falls into a break 11:00–11:10",
        "Nia Cole: running check bed 7 falls into another duty 12:00–12:05",
    ]


def test_what_lies_outside_the_shift_is_told_together_for_each_unit() -> None:
    tasks = [
        task(Work.RUNNING_CHECK, 55, window=(40, 70)),
        task(Work.RUNNING_CHECK, 115, window=(100, 130), n=2),
        task(Work.FINISH, 150, 10),
        task(Work.FIRST_CHECK, 100, unit="episode-2", bed="7", staff="gone"),
    ]
    people = (shift("nurse-1", 0, 60), *PEOPLE[1:])

    assert found(tasks, people) == (
        WorkFinding(Snag.OFF_SHIFT, period(100, 105), ("gone",), (tasks[3],)),
        WorkFinding(Snag.OFF_SHIFT, period(115, 160), ("nurse-1",), (tasks[1], tasks[2])),
    )
    assert words(tasks, people)[1] == (
        "Nia Cole is not on duty for bed 4: running check 11:55, take-down 12:30"
    )


def test_nothing_outside_the_asked_period_is_told() -> None:
    assert found([FIRST, SECOND], within=period(0, 290)) == ()
    assert len(found([FIRST, SECOND], within=period(299, 300))) == 1


def test_findings_are_in_order_of_time() -> None:
    people = (RESTING, *PEOPLE[1:])
    tasks = [FIRST, SECOND, task(Work.FINISH, 60, 10)]

    assert [one.snag for one in found(tasks, people)] == [Snag.BREAK, Snag.COLLISION]


def test_what_is_not_projected_is_said_with_its_reason() -> None:
    left_out = LeftOut("episode-1", "4", NotKnown.PAUSED, (Work.FINISH, Work.END_CHECK))

    assert left_out_words(left_out) == (
        "Bed 4: it is paused, and nobody can say when it will be in. "
        "Left out: take-down, end observations."
    )
    assert set(NOT_KNOWN) == set(NotKnown)


def test_a_name_that_is_not_known_is_the_id() -> None:
    assert finding_words(found([FIRST, SECOND])[0], {}, UTC).startswith("nurse-1: ")


@pytest.mark.parametrize(
    ("times", "again"),
    [
        (1, ""),
        (2, "; again 10:20"),
        (4, "; again 10:20, 10:40, 11:00"),
        (5, "; again 10:20, 10:40, 11:00 and once more, until 11:25"),
        (7, "; again 10:20, 10:40, 11:00 and 3 times more, until 12:05"),
    ],
)
def test_what_comes_again_is_told_once(times: int, again: str) -> None:
    checks = [task(Work.REACTION_CHECK, 20 * n, n=n + 1) for n in range(times)]
    findings = [WorkFinding(Snag.BREAK, one.period, ("nurse-1",), (one,)) for one in checks]
    other = WorkFinding(Snag.BREAK, period(5, 9), ("nurse-2",))

    told = findings_words([*findings, other], {}, UTC)

    assert told[0] == finding_words(findings[0], {}, UTC) + again
    assert len(told) == 2
