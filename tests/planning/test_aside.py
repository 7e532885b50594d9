"""What is searched beside the main search: what it counts for, and that it never outlives it."""

import logging
import os
from threading import Event, Thread
from threading import enumerate as threads

import pytest

from server.planning.solve import available, propose
from tests.planning.wards import Size, ward

if not available():
    pytest.skip("SOLVER MISSING: OR-Tools is not installed (extra `plan`)", allow_module_level=True)

from server.planning.aside import Aside, processors
from server.planning.budget import Budget
from server.planning.values import Limits

on_two = pytest.mark.skipif(
    processors() < 2, reason="PROCESSOR MISSING: nothing is searched beside the main search"
)


def budget(cancel: Event | None = None) -> Budget:
    """Ten steps, of which two are used."""
    return Budget(Limits(work=10, seconds=60), pace=1, cancel=cancel, used=2)


def using(steps: float, own: Budget) -> float:
    """Use up some steps and answer how many there were."""
    own.used += steps
    return own.limits.work


def until_over(own: Budget) -> str:
    """Go on until nothing is left or somebody stops it."""
    while not own.is_over:
        Event().wait(0.001)
    return "over"


def beside() -> list[str]:
    """The threads that search beside others."""
    return [one.name for one in threads() if one.name.startswith("plan-aside")]


@on_two
@pytest.mark.parametrize(("meanwhile", "used"), [(1.0, 5.0), (4.0, 6.0)])
def test_two_that_are_searched_at_once_use_as_much_as_the_longer(
    meanwhile: float, used: float
) -> None:
    main = budget()

    with Aside(main, lambda own: using(3, own)) as aside:
        main.used += meanwhile
        left = aside.answer()

    assert (left, main.used) == (8, used)


def test_one_that_was_stopped_is_searched_by_the_main_search_once_it_is_wanted() -> None:
    main = budget()

    with Aside(main, lambda own: using(3, own)) as aside:
        aside.stop()
        main.used += 4
        left = aside.answer()

    assert (left, main.used) == (10, 9)


def test_one_that_is_not_begun_is_searched_by_the_main_search_once_it_is_wanted() -> None:
    main = budget()

    with Aside(main, lambda own: using(3, own), is_begun=False) as aside:
        assert beside() == []
        main.used += 4
        left = aside.answer()

    assert (left, main.used) == (10, 9)


@on_two
def test_with_one_processor_none_begins() -> None:
    allowed = os.sched_getaffinity(0)
    os.sched_setaffinity(0, {min(allowed)})
    try:
        main = budget()
        with Aside(main, lambda own: using(3, own)) as aside:
            threads_beside, left = beside(), aside.answer()
    finally:
        os.sched_setaffinity(0, allowed)

    assert (threads_beside, left, main.used) == ([], 10, 5)


@on_two
def test_leaving_it_ends_its_search_and_its_thread() -> None:
    main = budget()

    with Aside(main, until_over):
        assert beside()

    assert beside() == []
    assert not main.is_over


@on_two
def test_it_ends_with_the_main_search_that_somebody_cancels() -> None:
    cancel = Event()

    with Aside(budget(cancel), until_over) as aside:
        cancel.set()
        assert aside.answer() == "over"


def test_a_search_that_fails_leaves_no_thread_and_says_why() -> None:
    with pytest.raises(ZeroDivisionError), Aside(budget(), lambda own: 1 / own.used) as aside:
        aside.answer()

    assert beside() == []


@on_two
def test_a_search_that_fails_and_that_nobody_asks_is_told_to_the_log(
    caplog: pytest.LogCaptureFixture,
) -> None:
    with caplog.at_level(logging.ERROR), Aside(budget(), lambda own: 1 / own.used):
        pass

    (told,) = caplog.records
    assert told.exc_info is not None
    assert told.exc_info[0] is ZeroDivisionError


@on_two
@pytest.mark.parametrize("size", [Size(20, 8), Size(40, 10)])
def test_no_thread_outlives_a_plan_that_is_cancelled(size: Size) -> None:
    cancel, ended, searched = Event(), Event(), list[str]()

    def stop() -> None:
        while not ended.wait(0.01) and not searched:
            searched.extend(beside())
        cancel.set()

    stopping = Thread(target=stop)
    stopping.start()
    propose(ward(12, size), seconds=60, cancel=cancel)
    ended.set()
    stopping.join()

    assert searched
    assert beside() == []
