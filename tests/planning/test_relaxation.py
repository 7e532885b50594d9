"""What the relaxation of a model proves: checked by hand on a problem of three choices."""

import pytest

from server.planning.solve import available

if not available():
    pytest.skip("SOLVER MISSING: OR-Tools is not installed (extra `plan`)", allow_module_level=True)

from server.planning.core import Schedule
from server.planning.relaxation import relax
from server.planning.values import Variable


def three() -> tuple[Schedule, list[Variable]]:
    """Three choices of which one must be, the first two never together with the third."""
    schedule = Schedule()
    choices = [schedule.choice() for _ in range(3)]
    schedule.model.add_exactly_one(choices)
    return schedule, choices


def test_the_bound_and_what_each_choice_costs_more() -> None:
    schedule, (cheap, dear, dearest) = three()

    relaxed = relax(schedule.model, 10 * cheap + 15 * dear + 40 * dearest + 100)

    assert relaxed is not None
    assert relaxed.least == 110
    assert relaxed.within(cheap, 110)
    assert (relaxed.within(dear, 114), relaxed.within(dear, 115)) == (False, True)
    assert (relaxed.within(dearest, 139), relaxed.within(dearest, 140)) == (False, True)


def test_a_bound_between_two_worths_is_the_upper_one() -> None:
    schedule, (one, two, _) = three()
    schedule.model.add(2 * one + two <= 1)

    relaxed = relax(schedule.model, 20 * two + 20 * (1 - one) + 5)

    # Half of the first and half of the third come to 15; whole choices come to 25 or to 45.
    assert relaxed is not None
    assert relaxed.bound == pytest.approx(15)
    assert relaxed.least == 25
    assert [relaxed.reached(least) for least in (25, 26, 45, 45.5)] == [25, 45, 45, 65]


def test_without_a_solution_there_is_no_bound() -> None:
    schedule, choices = three()
    schedule.model.add(sum(choices) >= 2)

    assert relax(schedule.model, choices[0]) is None


def test_a_choice_that_excludes_itself_is_never_made_whole() -> None:
    schedule, (one, *_) = three()
    schedule.model.add_at_most_one(one, one)

    relaxed = relax(schedule.model, 10 - 10 * one)

    assert relaxed is not None
    assert relaxed.bound == pytest.approx(5)
