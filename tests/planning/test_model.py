"""The model of a ward begins with the list rule's plan as it is, worth for worth."""

from dataclasses import astuple

import pytest

from server.domain.plan.alone import candidates
from server.domain.plan.laying import Draft
from server.domain.plan.list_rule import list_rule
from server.domain.plan.score import score
from server.planning.solve import available
from tests.planning.wards import Size, ward

if not available():
    pytest.skip("SOLVER MISSING: OR-Tools is not installed (extra `plan`)", allow_module_level=True)

from server.planning.ground import Ground
from server.planning.levels import add_levels
from server.planning.model import WardModel
from server.planning.rows import add_rows
from server.planning.values import Limits
from server.planning.work import add_work


@pytest.mark.parametrize("seed", range(4))
def test_without_any_search_the_model_holds_the_plan_it_began_with(seed: int) -> None:
    problem = ward(seed, Size(12, 4))
    listed = list_rule(problem)
    model = WardModel(
        Ground.of(problem),
        {one.episode_id: candidates(problem, one) for one in problem.units},
        listed,
    )
    add_work(model)
    add_rows(model)
    add_levels(model)

    answer = model.schedule.solve(Limits(work=0, seconds=10))

    worth = score(problem, listed.starts, listed.laid)
    assert tuple(level.worth for level in answer.levels) == astuple(worth)
    read = model.draft(answer)
    assert isinstance(read, Draft)
    assert score(problem, read.starts, read.laid) <= worth
