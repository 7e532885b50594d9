"""What a ward learns from its own records, when it is enough, and that it is never used silently.

Quartiles of 4, 6, 8, 10 and 12 are 6, 8 and 10: by hand, with both ends counted in.
"""

from dataclasses import replace
from typing import Any

import pytest

from server.domain.payloads import Completed, Issued, Received, Started
from server.domain.workload.capacity import Collector
from server.domain.workload.learnt import (
    Learnt,
    Recorded,
    Timed,
    carried,
    learn,
    lengths,
    recorded_of,
)
from server.domain.workload.lengths import policy_lengths
from server.domain.workload.task import Work
from tests.domain.builders import CHECKED, COMMON, FULL, at, case, look, with_policy
from tests.domain.working import minutes

FIVE = with_policy(work_enough_recorded=5)


def checked(*took: float) -> list[Recorded]:
    """Units of which check and start took so many minutes after they came."""
    return [Recorded(received_at=at(), started_at=at(one)) for one in took]


def test_the_instants_of_a_unit_are_those_of_its_facts() -> None:
    unit = case(
        (0, Issued(removed_at=at(-2))),
        (8, Received()),
        (14, CHECKED),
        (20, Started(60)),
        (90, Completed()),
        (97, FULL),
    )

    assert recorded_of(look(unit, at(120))) == Recorded(
        removed_at=at(-2),
        received_at=at(8),
        identity_at=at(14),
        started_at=at(20),
        ended_at=at(90),
        end_set_at=at(97),
    )
    assert recorded_of(look(case(), at(0))) == Recorded()


def test_each_stretch_has_its_count_its_median_and_its_quartiles() -> None:
    units = [
        Recorded(at(-one), at(0), at(one / 2), at(one), at(90), at(90 + 2 * one))
        for one in (12, 4, 10, 6, 8)
    ]

    assert learn(units, FIVE) == {
        Timed.CARRIED: Learnt(Timed.CARRIED, 5, minutes(6), minutes(8), minutes(10), True),
        Timed.SECOND_CHECK: Learnt(Timed.SECOND_CHECK, 5, minutes(3), minutes(4), minutes(5), True),
        Timed.CHECK_AND_START: Learnt(
            Timed.CHECK_AND_START, 5, minutes(6), minutes(8), minutes(10), True
        ),
        Timed.END_SET: Learnt(Timed.END_SET, 5, minutes(12), minutes(16), minutes(20), True),
    }


def test_fewer_than_the_policy_asks_for_are_shown_and_not_enough() -> None:
    (found,) = learn(checked(4, 6, 8, 10), FIVE).values()

    assert (found.count, found.is_enough) == (4, False)
    assert (learn(checked(4), FIVE), learn([], FIVE)) == ({}, {})


@pytest.mark.parametrize("took", [0, -5])
def test_records_at_one_instant_or_the_wrong_way_round_say_nothing(took: int) -> None:
    (found,) = learn(checked(4, 6, 8, 10, took), FIVE).values()

    assert (found.count, found.median) == (4, minutes(7))


LEARNT = learn(
    [
        Recorded(at(-one), at(0), at(one + 0.5), at(2 * one), at(90), at(90 + one))
        for one in (4, 6, 8, 10, 12)
    ],
    FIVE,
)


def test_without_being_switched_on_nothing_that_was_learnt_is_used() -> None:
    assert lengths(COMMON, LEARNT, use_learnt=False) == policy_lengths(COMMON)
    assert carried(COMMON, LEARNT, use_learnt=False) == minutes(10)


def test_what_was_learnt_often_enough_is_used_rounded_up_once_it_is_switched_on() -> None:
    """Medians: out of storage 8 min, second person 8 and a half, check and start 16."""
    used = lengths(COMMON, LEARNT, use_learnt=True, collected_by=Collector.NURSE)

    assert used == policy_lengths(COMMON, Collector.NURSE) | {
        Work.SECOND_CHECK: minutes(9),
        Work.CHECK_AND_START: minutes(16),
    }
    assert carried(COMMON, LEARNT, use_learnt=True) == minutes(8)


@pytest.mark.parametrize("fields", [{"is_enough": False}, None])
def test_what_is_not_enough_or_was_never_recorded_leaves_the_policy_s(
    fields: dict[str, Any] | None,
) -> None:
    kept = {} if fields is None else {key: replace(one, **fields) for key, one in LEARNT.items()}

    assert lengths(COMMON, kept, use_learnt=True) == policy_lengths(COMMON)
    assert carried(COMMON, kept, use_learnt=True) == minutes(10)


def test_the_second_person_is_never_needed_for_longer_than_check_and_start() -> None:
    quick = learn(checked(3, 3, 3, 3, 3), FIVE)

    used = lengths(COMMON, quick, use_learnt=True)

    assert (used[Work.CHECK_AND_START], used[Work.SECOND_CHECK]) == (minutes(3), minutes(3))
