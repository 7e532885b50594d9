"""Minutes of work by person and slot, what is too much for them, and how fairly it is spread."""

from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.domain.workload.capacity import Duty
from server.domain.workload.load import Fairness, Load, PersonLoad, Share, SlotLoad, load_of
from server.domain.workload.period import Period
from server.domain.workload.periods import merged, shared, without
from server.domain.workload.task import Task, Work
from tests.domain.working import minutes, period, shift, task

HOUR = period(0, 60)
NONE = SlotLoad()


def slots_of(load: Load, staff: str = "nurse-1") -> list[tuple[float, float, float]]:
    """Locked, movable and too many minutes of each slot."""
    (person,) = [one for one in load.people if one.staff_id == staff]
    return [
        (_minutes(slot.locked), _minutes(slot.movable), _minutes(slot.over))
        for slot in person.slots
    ]


def _minutes(length: timedelta) -> float:
    return length.total_seconds() / 60


def test_work_is_counted_in_the_slots_that_it_lies_in() -> None:
    tasks = [
        task(Work.CHECK_AND_START, 10, 15),
        task(Work.FIRST_CHECK, 40, window=(35, 45)),
        task(Work.SECOND_CHECK, 50, 7, staff="nurse-2"),
        task(Work.SECOND_CHECK, 20, 7, staff=None),
    ]
    load = load_of(tasks, [shift("nurse-1"), shift("nurse-3", may_start=False)], HOUR)

    assert load == Load(
        period=HOUR,
        slots=(period(0, 15), period(15, 30), period(30, 45), period(45, 60)),
        people=(
            PersonLoad(
                "nurse-1",
                minutes(60),
                (
                    SlotLoad(locked=minutes(5)),
                    SlotLoad(locked=minutes(10)),
                    SlotLoad(movable=minutes(5)),
                    NONE,
                ),
                may_start=True,
            ),
            PersonLoad(
                "nurse-2",
                minutes(0),
                (NONE, NONE, NONE, SlotLoad(locked=minutes(7), over=minutes(7))),
                may_start=False,
            ),
            PersonLoad("nurse-3", minutes(60), (NONE, NONE, NONE, NONE), may_start=False),
        ),
        unnamed=(tasks[3],),
    )
    first = load.people[0]
    assert (first.work, first.over, first.minutes_per_hour) == (minutes(20), minutes(0), 20)
    assert load.people[1].minutes_per_hour is None


def test_two_things_at_once_are_more_than_a_slot_holds() -> None:
    """Ten minutes twice in a quarter of an hour: five too many."""
    tasks = [task(Work.FIRST_CHECK, 0, 10), task(Work.CHECK_AND_START, 0, 10, unit="episode-2")]

    assert slots_of(load_of(tasks, [shift("nurse-1")], HOUR))[0] == (20, 0, 5)


@pytest.mark.parametrize(
    ("begin", "over"), [(5, 0), (6, 1), (9, 4), (10, 5), (15, 5), (16, 4), (19, 1), (20, 0)]
)
def test_work_in_a_break_is_too_much_to_the_minute(begin: int, over: int) -> None:
    """The break is from 10:10 to 10:20; five minutes of work begin before, in or after it."""
    resting = shift("nurse-1", breaks=(period(10, 20),))

    assert load_of([task(Work.FIRST_CHECK, begin)], [resting], HOUR).people[0].over == minutes(over)


def test_duties_and_the_time_before_and_after_the_shift_hold_no_work() -> None:
    teaching = shift("nurse-1", 15, 45, duties=(Duty(period(30, 45), "teaching"),))
    tasks = [task(Work.RUNNING_CHECK, place * 15.0, n=place + 1) for place in range(4)]

    load = load_of(tasks, [teaching], HOUR)

    assert slots_of(load) == [(5, 0, 5), (5, 0, 0), (5, 0, 5), (5, 0, 5)]
    assert load.people[0].there == minutes(15)


def test_shifts_that_follow_each_other_are_one_time_at_work() -> None:
    twice = [shift("nurse-1", 0, 30), shift("nurse-1", 30, 60)]

    load = load_of([task(Work.CHECK_AND_START, 25, 10)], twice, HOUR)

    assert (load.people[0].over, load.people[0].there) == (minutes(0), minutes(60))


def test_only_what_lies_in_the_period_counts_and_the_last_slot_may_be_shorter() -> None:
    tasks = [
        task(Work.WATCH, -10, 15),
        task(Work.FIRST_CHECK, 38),
        task(Work.FINISH, 40, unit="episode-2"),
    ]

    load = load_of(tasks, [shift("nurse-1"), shift("late", 40, 60)], period(0, 40), minutes(30))

    assert (load.slots, slots_of(load)) == ((period(0, 30), period(30, 40)), [(5, 0, 0), (2, 0, 0)])
    assert [one.staff_id for one in load.people] == ["nurse-1"]


def test_fairness_compares_the_most_and_the_least_loaded_of_those_who_may_start() -> None:
    """15 min of work in an hour against 5 min in half an hour; who only checks is left aside."""
    people = [
        shift("nurse-1"),
        shift("nurse-2", 0, 30),
        shift("nurse-3"),
        shift("second", may_start=False),
    ]
    tasks = [
        task(Work.CHECK_AND_START, 0, 15),
        task(Work.FIRST_CHECK, 0, staff="nurse-2"),
        task(Work.FIRST_CHECK, 0, 20, staff="nurse-3"),
    ]

    fairness = load_of(tasks, people, HOUR).fairness

    assert fairness == Fairness(most=Share("nurse-3", 20), least=Share("nurse-2", 10))
    assert fairness.difference == 10


@pytest.mark.parametrize("people", [[], [shift("nurse-1")], [shift("nurse-1"), shift("x", 60)]])
def test_nobody_is_compared_with_nobody(people: list) -> None:  # type: ignore[type-arg]
    assert load_of([], people, HOUR).fairness is None


TASKS = st.builds(
    lambda at_, length, staff, slack: task(
        Work.RUNNING_CHECK,
        at_,
        length,
        staff=staff,
        window=(at_ - slack, at_ + slack),
    ),
    st.integers(-30, 200),
    st.integers(1, 40),
    st.sampled_from(["nurse-1", "nurse-2", None]),
    st.sampled_from([0, 0, 10]),
)
PERIODS = st.builds(
    lambda begin, length: period(begin, begin + length), st.integers(0, 150), st.integers(1, 60)
)


@given(st.lists(TASKS, max_size=12), st.lists(PERIODS, max_size=3), st.sampled_from([5, 15, 40]))
def test_the_slots_hold_every_minute_of_work_and_too_much_is_never_more_than_all(
    tasks: list[Task], breaks: list[Period], slot: int
) -> None:
    people = [shift("nurse-1", 0, 200, breaks=tuple(breaks)), shift("nurse-2", 20, 120)]
    whole = period(-60, 300)

    load = load_of(tasks, people, whole, minutes(slot))

    named = sum((one.length for one in tasks if one.staff_id), timedelta(0))
    assert sum((one.work for one in load.people), timedelta(0)) == named
    assert len(load.unnamed) == sum(one.staff_id is None for one in tasks)
    every = [slot for one in load.people for slot in one.slots]
    assert all(timedelta(0) <= slot.over <= slot.work for slot in every)


@given(PERIODS, st.lists(PERIODS, max_size=5))
def test_what_is_taken_out_and_what_is_left_make_the_whole(
    whole: Period, taken: list[Period]
) -> None:
    left = without(whole, taken)

    out = sum((shared(whole, one) for one in merged(taken)), timedelta(0))
    assert sum((one.length for one in left), timedelta(0)) + out == whole.length
    assert all(one.from_at < one.until_at for one in left)
    assert not any(one.overlaps(other) for one in left for other in taken)
