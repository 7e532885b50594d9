"""The work that a planned start brings: locked where it was put, checks in their windows."""

from dataclasses import replace

import pytest

from server.domain.cover import Cover
from server.domain.plan.problem import Terms
from server.domain.plan.proposal import PlannedCheck
from server.domain.plan.terms import terms_of
from server.domain.workload.capacity import Collector
from server.domain.workload.lengths import policy_lengths
from server.domain.workload.project_start import project_start
from server.domain.workload.task import Work
from tests.domain.builders import COMMON, at
from tests.domain.working import TERMS, minutes, start, task, unit


def test_a_planned_start_brings_the_check_the_watch_the_checks_and_the_end() -> None:
    assert project_start(start(30), unit(), TERMS) == (
        task(Work.CHECK_AND_START, 30, 15),
        task(Work.SECOND_CHECK, 30, 7, staff="nurse-2"),
        task(Work.WATCH, 45, 15),
        task(Work.FIRST_CHECK, 60, window=(55, 65)),
        task(Work.FINISH, 125, 10, window=(125, 135)),
        task(Work.END_CHECK, 140, window=(125, 185)),
    )


def test_work_lies_where_the_plan_laid_it() -> None:
    laid = (
        PlannedCheck(Work.FIRST_CHECK, 1, at(62)),
        PlannedCheck(Work.FINISH, 1, at(128)),
    )
    tasks = project_start(start(30, checks=laid), unit(), TERMS)

    assert [(one.work, one.at) for one in tasks[3:5]] == [
        (Work.FIRST_CHECK, at(62)),
        (Work.FINISH, at(128)),
    ]


@pytest.mark.parametrize(("done_by", "latest"), [(136, 135), (135, 135), (129, 129), (124, 125)])
def test_an_empty_bag_hangs_as_long_as_its_limit_leaves_room(done_by: int, latest: int) -> None:
    dated = unit(done_by=at(done_by), done_by_rule="expiry")
    finish = project_start(start(30), dated, TERMS)[4]

    assert (finish.work, finish.latest) == (Work.FINISH, at(latest))


def test_a_take_down_that_was_laid_later_stays_there() -> None:
    late = start(30, checks=(PlannedCheck(Work.FINISH, 1, at(140)),))
    finish = project_start(late, unit(), TERMS)[4]

    assert (finish.at, finish.earliest, finish.latest) == (at(140), at(125), at(140))


def test_one_checker_needs_no_second_and_a_policy_without_slow_start_no_watch() -> None:
    unwatched = replace(TERMS, watch=minutes(0))
    works = [one.work for one in project_start(start(30, second_id=None), unit(), unwatched)]

    assert works == [Work.CHECK_AND_START, Work.FIRST_CHECK, Work.FINISH, Work.END_CHECK]


def test_where_nurses_collect_whoever_starts_it_fetches_it() -> None:
    planned = start(60, call_at=at(23))
    fetched = terms_of(COMMON, policy_lengths(COMMON, Collector.NURSE))

    by_nurse = project_start(planned, unit(), fetched, collected_by=Collector.NURSE)
    issued = project_start(
        replace(planned, call_at=None), unit(), fetched, collected_by=Collector.NURSE
    )

    assert by_nurse[0] == task(Work.COLLECT, 23, 37)
    assert issued[0] == task(Work.CHECK_AND_START, 60, 15)


def test_a_cover_takes_what_follows_but_not_the_start_that_was_planned_by_name() -> None:
    cover = Cover("c1", "ward-1", "nurse-3", "nurse-1", at(20), at(130), at(0), "charge-1")

    tasks = project_start(start(30), unit(), TERMS, covers=[cover])

    assert [one.staff_id for one in tasks] == [
        "nurse-1",
        "nurse-2",
        "nurse-1",
        "nurse-3",
        "nurse-3",
        "nurse-1",
    ]


def test_the_terms_of_a_plan_are_the_policy_s() -> None:
    assert (
        Terms(
            grid=minutes(5),
            collect=minutes(16),
            carried=minutes(10),
            check=minutes(15),
            watch=minutes(15),
            start_within=minutes(30),
            checkers=2,
            lengths={
                Work.COLLECT: minutes(16),
                Work.CHECK_AND_START: minutes(15),
                Work.SECOND_CHECK: minutes(7),
                Work.WATCH: minutes(15),
                Work.FIRST_CHECK: minutes(5),
                Work.RUNNING_CHECK: minutes(5),
                Work.REACTION_CHECK: minutes(5),
                Work.FINISH: minutes(10),
                Work.END_CHECK: minutes(5),
            },
            longest_wait=minutes(240),
            finish_grace=minutes(10),
        )
        == TERMS
    )


def test_a_unit_is_never_out_of_storage_for_longer_than_its_way() -> None:
    lengths = policy_lengths(COMMON)

    carried = [terms_of(COMMON, lengths, minutes(length)).carried for length in (15, 16, 17)]

    assert carried == [minutes(15), minutes(16), minutes(16)]
