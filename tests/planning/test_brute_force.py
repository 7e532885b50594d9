"""On tiny wards an exhaustive search and the solver agree exactly, level by level."""

from dataclasses import astuple, replace
from datetime import timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from server.domain.plan.problem import Earlier, PlanCheck, PlanUnit, Problem
from server.domain.plan.proposal import Status
from server.domain.words import Component, Priority
from server.domain.workload.capacity import Capacity, Collector, NightRule, OnDuty, WardRules
from server.domain.workload.period import Period
from server.domain.workload.task import Task, Work
from server.planning.solve import available, propose
from tests.planning.brute import best_worth
from tests.planning.checker import faults
from tests.planning.wards import TERMS, at, span

pytestmark = pytest.mark.skipif(
    not available(), reason="SOLVER MISSING: OR-Tools is not installed (extra `plan`)"
)

# A grid of half hours over two and a half hours, or of quarters over an hour and a quarter.
COARSE, FINE = timedelta(minutes=30), timedelta(minutes=15)


@st.composite
def people(draw: st.DrawFn, number: int) -> OnDuty:
    """A nurse with one break, now and then a short shift or less training."""
    pause = draw(st.integers(0, 5)) * 30
    shift = draw(st.sampled_from([(-60, 900), (-60, 900), (0, 90), (60, 900)]))
    return OnDuty(
        f"s{number}",
        f"n{number}",
        Period(at(shift[0]), at(shift[1])),
        (Period(at(pause), at(pause + 20)),),
        may_start=draw(st.sampled_from([True, True, False])),
        may_second=draw(st.sampled_from([True, True, False])),
    )


@st.composite
def unit(draw: st.DrawFn, number: int, nurses: int) -> PlanUnit:
    """A unit with a first check and an end check, the second one after the first where it fits."""
    follows = number == 1 and draw(st.booleans())
    runs = draw(st.sampled_from([30, 45]))
    checks = (
        PlanCheck(Work.FIRST_CHECK, 1, span(10), span(15), span(20)),
        PlanCheck(Work.END_CHECK, 1, span(runs), span(runs + 15), span(runs + 60)),
    )
    return PlanUnit(
        episode_id=f"u{number}",
        patient_id="p0" if follows else f"p{number}",
        bed=str(number),
        component=Component.RED_CELLS,
        priority=draw(st.sampled_from(list(Priority))),
        ready_at=at(draw(st.sampled_from([-60, 0, 25, 47]))),
        runs=span(runs),
        finish_within=span(240),
        checks=checks,
        wanted_by=draw(st.sampled_from([None, None, at(60)])),
        after="u0" if follows else None,
        gap=span(15 if follows else 0),
        nurse_id=draw(st.sampled_from([None, *(f"n{one}" for one in range(nurses))])),
        done_by=draw(st.sampled_from([None, None, at(130)])),
    )


@st.composite
def wards(draw: st.DrawFn) -> Problem:
    """One to four units, two or three nurses, five slots; fewer units where checks may move."""
    nurses, grid = draw(st.integers(2, 3)), draw(st.sampled_from([COARSE, FINE]))
    most = 2 if grid == FINE else 6 - nurses
    units = tuple(draw(unit(number, nurses)) for number in range(draw(st.integers(1, most))))
    rules = WardRules(
        handovers=draw(st.sampled_from([(), (Period(at(60), at(75)),)])),
        nights=draw(st.sampled_from([(), (Period(at(90), at(900)),)])),
        night_rule=draw(st.sampled_from(list(NightRule))),
        most_starts=draw(st.sampled_from([None, 1])),
        collected_by=draw(st.sampled_from(list(Collector))),
        porters=draw(st.sampled_from([None, 1])),
        issues_per_quarter=draw(st.sampled_from([None, 1])),
    )
    accepted = draw(st.sampled_from([{}, {"u0": Earlier(at(60), "n0", "n1")}]))
    duty = tuple(draw(people(number)) for number in range(nurses))
    capacity = Capacity("w1", at(0), duty, rules)
    terms = replace(TERMS, grid=grid, longest_wait=span(60))
    busy = Task("l0", "L0", Work.FINISH, 1, "n0", at(40), at(40), at(40), span(5))
    tasks = draw(st.sampled_from([(), (busy,)]))
    return Problem("w1", at(0), at(0) + 5 * grid, terms, units, tasks, capacity, accepted)


@settings(max_examples=25)
@given(wards())
def test_the_solver_finds_the_worth_that_an_exhaustive_search_finds(problem: Problem) -> None:
    made = propose(problem, seconds=20)

    assert faults(problem, made.starts, made.laid) == []
    assert (made.status, astuple(made.objective)) == (Status.OPTIMAL, best_worth(problem))
