"""The best comfort, window by window: checked by hand on three choices of which one must be."""

import pytest

from server.planning.solve import available

if not available():
    pytest.skip("SOLVER MISSING: OR-Tools is not installed (extra `plan`)", allow_module_level=True)

from server.planning.budget import Budget
from server.planning.close import Close, Window
from server.planning.core import Schedule
from server.planning.relaxation import relax
from server.planning.values import Answer, Closed, Limits, Variable, weighted

# Three windows: until 15, 26 and 60.
ALL = 60


def close(*costs: int, shut: int = 0) -> tuple[Close, list[Variable]]:
    """Choices that cost so much; the first ones may not be, which no relaxation knows of."""
    schedule = Schedule()
    choices = [schedule.choice() for _ in costs]
    schedule.model.add_exactly_one(choices)
    for one in choices[:shut]:
        # Under a condition that always holds: the relaxation leaves such rows out.
        schedule.model.add(one == 0).only_enforce_if(one)
    comfort = weighted(zip(choices, costs, strict=True))
    relaxed = relax(schedule.model, comfort)
    assert relaxed is not None
    budget = Budget(Limits(work=10, seconds=60), pace=1)
    return Close(schedule, comfort, relaxed, budget, relaxed.least), choices


@pytest.mark.parametrize("is_ahead", [False, True])
@pytest.mark.parametrize(("shut", "best"), [(0, 10), (1, 14), (2, 40)])
def test_the_cheapest_choice_that_may_be_is_proven_best(
    shut: int, best: int, *, is_ahead: bool
) -> None:
    search, choices = close(10, 14, 40, shut=shut)

    answer = search.search(ALL, is_ahead=is_ahead)

    assert [answer[one] for one in choices] == [int(at == shut) for at in range(3)]
    assert (answer.levels[-1].worth, search.least) == (best, best)


@pytest.mark.parametrize("is_ahead", [False, True])
def test_where_none_may_be_it_is_proven_that_comfort_lies_beyond(*, is_ahead: bool) -> None:
    search, _ = close(10, 14, 40, shut=3)

    answer = search.search(ALL, is_ahead=is_ahead)

    assert (bool(answer.values), answer.is_infeasible) == (False, True)
    assert search.least == ALL + 2


def test_that_a_wider_window_is_empty_counts_though_the_one_in_it_was_not_searched_out() -> None:
    search, _ = close(10, 14, 40)
    empty = Answer({}, (Closed("comfort", None, None),), is_infeasible=True, seconds=0, work=0)

    search._learnt(Window(16, 30), empty)

    # All choices are even: the next that a sum of them comes to.
    assert search.least == 32
