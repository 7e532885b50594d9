"""What is searched beside the main search: what it counts for, and that it never outlives it."""

from threading import Event, Timer
from threading import enumerate as threads

import pytest

from server.planning.solve import available, propose
from tests.planning.wards import Size, ward

if not available():
    pytest.skip("SOLVER MISSING: OR-Tools is not installed (extra `plan`)", allow_module_level=True)

from server.planning.aside import Aside
from server.planning.budget import Budget
from server.planning.values import Limits


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


def test_leaving_it_ends_its_search_and_its_thread() -> None:
    main = budget()

    with Aside(main, until_over):
        assert beside()

    assert beside() == []
    assert not main.is_over


def test_it_ends_with_the_main_search_that_somebody_cancels() -> None:
    cancel = Event()

    with Aside(budget(cancel), until_over) as aside:
        cancel.set()
        assert aside.answer() == "over"


def test_a_search_that_fails_leaves_no_thread_and_says_why() -> None:
    with pytest.raises(ZeroDivisionError), Aside(budget(), lambda own: 1 / own.used) as aside:
        aside.answer()

    assert beside() == []


@pytest.mark.parametrize("size", [Size(20, 8), Size(40, 10)])
def test_no_thread_outlives_a_plan_that_is_cancelled(size: Size) -> None:
    cancel = Event()
    Timer(1.5, cancel.set).start()

    propose(ward(12, size), seconds=60, cancel=cancel)

    assert beside() == []
