"""The work ahead of a unit that is issued and not started: as soon as it can be, or not at all.

Check and start take 15 min; the blood runs within 30 min of the issue, and is in 240 min after it.
"""

from dataclasses import replace

import pytest

from server.domain.payloads import Issued, Payload, Received, Returned, Warned
from server.domain.picture import Case
from server.domain.reaction import Elsewhere
from server.domain.words import Component
from server.domain.workload.project import project
from server.domain.workload.projection import LeftOut, NotKnown, Projection
from server.domain.workload.task import Work
from tests.domain.builders import CHECKED, around, at, case, look
from tests.domain.projected import AFTER_THE_END, DAY, ahead, rows
from tests.domain.working import TERMS

WHOLE = (
    Work.CHECK_AND_START,
    Work.SECOND_CHECK,
    Work.WATCH,
    Work.FIRST_CHECK,
    Work.RUNNING_CHECK,
    Work.FINISH,
    Work.END_CHECK,
)


@pytest.mark.parametrize(
    ("facts", "check"),
    [
        (((0, Issued()),), 10),
        (((0, Issued()), (4, Received())), 5),
        (((-8, Issued()),), 5),
    ],
)
def test_an_issued_unit_is_checked_as_soon_as_it_is_there(
    facts: tuple[tuple[int, Payload], ...], check: int
) -> None:
    """Ten minutes of its way it is out of storage; the blood runs 15 min after the check began."""
    first, second = ahead(case(*facts, nurse_id="nurse-1"), 5).tasks[:2]

    assert (first.work, first.at, first.staff_id) == (Work.CHECK_AND_START, at(check), "nurse-1")
    assert (second.work, second.at, second.staff_id) == (Work.SECOND_CHECK, at(check), None)


def test_everything_after_an_outstanding_start_may_come_as_much_later_as_the_start() -> None:
    """Checked from 10:05, running from 10:20, ten minutes before the limit of the start."""
    unit = case((0, Issued()), (4, Received()))

    assert rows(ahead(unit, 5).tasks) == [
        ("check_and_start", 1, 5, 5, 15, 15),
        ("second_check", 1, 5, 5, 15, 7),
        ("watch", 1, 20, 20, 30, 15),
        ("first_check", 1, 35, 30, 50, 5),
        ("finish", 1, 88, 88, 108, 10),
        ("end_check", 1, 103, 88, 158, 5),
    ]


@pytest.mark.parametrize("second", [0, 1])
def test_once_the_limit_of_the_start_cannot_be_kept_the_start_is_locked(second: int) -> None:
    unit = case((0, Issued()), (4, Received()))
    first = project(look(unit, at(15, second)), TERMS, DAY).tasks[0]

    assert (first.at, first.is_locked) == (at(15, second), True)


def test_a_second_person_is_not_asked_for_twice_nor_where_one_checks() -> None:
    checked = case((0, Issued()), (4, CHECKED))
    alone = replace(TERMS, checkers=1)

    works = [one.work for one in ahead(checked, 5).tasks]
    by_one = [one.work for one in project(look(case((0, Issued())), at(5)), alone, DAY).tasks]

    assert (Work.SECOND_CHECK in works, Work.SECOND_CHECK in by_one) == (False, False)


def test_an_issued_unit_without_a_volume_is_projected_as_far_as_is_known() -> None:
    found = ahead(case((0, Issued()), (4, Received()), volume_ml=None), 5)

    assert [one.work for one in found.tasks] == [
        Work.CHECK_AND_START,
        Work.SECOND_CHECK,
        Work.WATCH,
        Work.FIRST_CHECK,
        Work.RUNNING_CHECK,
        Work.RUNNING_CHECK,
        Work.RUNNING_CHECK,
    ]
    assert found.left_out == (LeftOut("episode-1", "4", NotKnown.NO_VOLUME, AFTER_THE_END),)


ELSEWHERE = Elsewhere("episode-2", "4", Component.RED_CELLS, None, at(1))


@pytest.mark.parametrize(
    ("unit", "why"),
    [
        (case((0, Issued()), elsewhere=(ELSEWHERE,)), NotKnown.REACTION),
        (case((0, Issued()), (2, Warned("episode-3", "9"))), NotKnown.WARNED),
    ],
)
def test_nobody_can_say_when_a_unit_that_is_held_will_be_started(unit: Case, why: NotKnown) -> None:
    assert ahead(unit, 5) == Projection((), (LeftOut("episode-1", "4", why, WHOLE),))


def test_a_unit_past_its_finish_limit_is_not_started() -> None:
    unit = case((0, Issued()))
    said = [project(look(unit, now), TERMS, DAY).left_out for now in around(at(240))]

    past = (LeftOut("episode-1", "4", NotKnown.PAST_LIMIT, WHOLE),)
    assert said == [(), past, past]


@pytest.mark.parametrize("facts", [(), ((0, Issued()), (4, Returned()))])
def test_a_unit_in_storage_or_sent_back_has_no_tasks(
    facts: tuple[tuple[int, Payload], ...],
) -> None:
    assert ahead(case(*facts), 5) == Projection()
