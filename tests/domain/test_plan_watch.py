"""Whether an accepted plan still holds: what time, people and orders have done to it."""

from dataclasses import replace
from datetime import datetime
from typing import Any

import pytest

from server.domain.plan.problem import PlanUnit, Problem
from server.domain.plan.proposal import (
    Maker,
    Objective,
    Proposal,
    Rule,
    Start,
    Status,
    Unplaced,
)
from server.domain.plan.watch import Broke, Broken, Since, next_look_at, spare_of, what_broke
from server.domain.workload.capacity import Capacity, WardRules
from server.domain.workload.projection import LeftOut, NotKnown
from server.domain.workload.task import Task, Work
from tests.domain.builders import around, at
from tests.domain.working import TERMS, minutes, period, shift, start, task, unit

PEOPLE = (shift("nurse-1"), shift("nurse-2"))
NOTHING = Since()


def ward(now: datetime, *units: PlanUnit, **fields: Any) -> Problem:
    """The ward at an instant with two nurses; further fields are those of the problem."""
    people = fields.pop("people", PEOPLE)
    rules = fields.pop("rules", WardRules())
    given: dict[str, Any] = {
        "ward_id": "ward-1",
        "from_at": now,
        "until_at": at(480),
        "terms": TERMS,
        "units": units,
        "tasks": (),
        "capacity": Capacity("ward-1", now, people, rules),
        "names": {"nurse-1": "Nia Cole"},
    }
    return Problem(**(given | fields))


def accepted(*starts: Start, unplaced: tuple[str, ...] = ()) -> Proposal:
    return Proposal(
        ward_id="ward-1",
        from_at=at(),
        until_at=at(480),
        made_by=Maker.SOLVER,
        status=Status.OPTIMAL,
        objective=Objective(0, 0, 0, 0, 0),
        bound=None,
        gap_percent=None,
        seconds=1.0,
        starts=starts,
        unplaced=tuple(Unplaced(one, (Rule.NURSES,), "nobody") for one in unplaced),
    )


PLANNED = start(60)
PLAN = accepted(PLANNED)


def kinds(problem: Problem, plan: Proposal = PLAN, since: Since = NOTHING) -> list[Broke]:
    return [one.what for one in what_broke(problem, plan, since)]


def waiting(now: datetime, **fields: Any) -> PlanUnit:
    """A unit as it stands at an instant: it can be called for from then on."""
    return unit(ready_at=now, **fields)


@pytest.mark.parametrize("now", [at(0), at(44), at(55)])
def test_a_plan_that_is_kept_to_holds(now: datetime) -> None:
    """Called at 10:44 it leaves storage at 10:50; a step of the grid later it is not late."""
    assert what_broke(ward(now, waiting(now)), PLAN, NOTHING) == ()


def test_a_call_that_passed_without_an_issue_is_told() -> None:
    before, last, late = around(at(55))

    assert kinds(ward(before, waiting(before))) == kinds(ward(last, waiting(last))) == []
    assert what_broke(ward(late, waiting(late)), PLAN, NOTHING) == (
        Broken(
            Broke.CALL_PASSED,
            ("episode-1",),
            ("nurse-1",),
            replace(period(44, 55), until_at=late),
            "bed 4: it was to be called for at 10:44, and is not issued",
        ),
    )


def test_a_check_that_passed_without_a_start_is_told() -> None:
    """The check at 11:00 takes a quarter of an hour, and a step of the grid more is not late."""
    before, last, late = around(at(80))
    by = {"is_issued": True, "check_by": at(90)}

    assert kinds(ward(before, waiting(before, **by))) == []
    assert kinds(ward(last, waiting(last, **by))) == []
    assert what_broke(ward(late, waiting(late, **by)), PLAN, NOTHING) == (
        Broken(
            Broke.CHECK_PASSED,
            ("episode-1",),
            ("nurse-1",),
            replace(period(60, 80), until_at=late),
            "bed 4: its check was planned for 11:00, and it is not started",
        ),
    )


def test_a_unit_that_was_issued_when_it_was_planned_is_late_by_its_check() -> None:
    issued = accepted(start(60, call_at=None))
    at_hand = waiting(at(81), is_issued=True, check_by=at(90))

    assert kinds(ward(at(81), at_hand), issued) == [Broke.CHECK_PASSED]


def test_a_unit_that_comes_later_than_its_check_breaks_a_limit() -> None:
    on_its_way = unit(ready_at=at(62), is_issued=True, check_by=at(70))

    assert kinds(ward(at(50), on_its_way)) == [Broke.LIMIT]


@pytest.mark.parametrize(
    ("people", "expected"),
    [
        ((shift("nurse-1", 0, 90), PEOPLE[1]), []),
        ((shift("nurse-1", 0, 89), PEOPLE[1]), [Broke.PERSON_AWAY]),
        ((PEOPLE[0], shift("nurse-2", breaks=(period(70, 80),))), [Broke.PERSON_AWAY]),
        ((PEOPLE[0], shift("nurse-2", may_second=False)), [Broke.PERSON_AWAY]),
        ((shift("nurse-1", may_start=False), PEOPLE[1]), [Broke.PERSON_AWAY]),
    ],
)
def test_a_person_who_is_away_or_not_trained_breaks_it(
    people: tuple[Any, ...], expected: list[Broke]
) -> None:
    assert kinds(ward(at(10), waiting(at(10)), people=people)) == expected


@pytest.mark.parametrize(
    ("task_", "expected"),
    [
        (task(Work.FINISH, 55, unit="episode-2", bed="7"), []),
        (task(Work.FINISH, 56, unit="episode-2", bed="7"), [Broke.COLLISION]),
        (task(Work.FINISH, 56, unit="episode-2", bed="7", window=(50, 70)), []),
    ],
)
def test_locked_work_that_came_since_collides(task_: Task, expected: list[Broke]) -> None:
    assert kinds(ward(at(10), waiting(at(10)), tasks=(task_,))) == expected


def test_what_broke_is_said_in_words() -> None:
    busy = task(Work.FINISH, 70, 10, unit="episode-2", bed="7")

    assert [
        one.words for one in what_broke(ward(at(10), waiting(at(10)), tasks=(busy,)), PLAN, NOTHING)
    ] == ["Nia Cole: take-down bed 7 and two-person check and start bed 4 collide 11:10–11:20"]


@pytest.mark.parametrize(
    ("fields", "expected"),
    [
        ({"done_by": at(155), "done_by_rule": "sample"}, []),
        ({"done_by": at(154), "done_by_rule": "sample"}, [Broke.EXPIRED]),
        ({"done_by": at(154), "done_by_rule": "expiry"}, [Broke.EXPIRED]),
        ({"finish_within": minutes(105)}, []),
        ({"finish_within": minutes(104)}, [Broke.LIMIT]),
        ({"free_at": at(30), "gap": minutes(30)}, []),
        ({"free_at": at(31), "gap": minutes(30)}, [Broke.LIMIT]),
    ],
)
def test_a_limit_that_is_no_longer_kept_breaks_it(
    fields: dict[str, Any], expected: list[Broke]
) -> None:
    assert kinds(ward(at(10), waiting(at(10), **fields))) == expected


def test_the_time_that_a_plan_was_made_for_and_its_wishes_do_not_break_it() -> None:
    shorter = ward(at(10), waiting(at(10), forbidden=(period(60, 70),)), until_at=at(60))

    assert kinds(shorter) == []


def test_a_start_at_night_that_a_plan_may_hold_does_not_break_it() -> None:
    night = WardRules(nights=(period(0, 480),))

    assert kinds(ward(at(10), waiting(at(10)), rules=night)) == []


def test_a_unit_that_was_cancelled_is_told_and_one_that_was_started_is_not() -> None:
    beds = {"episode-1": "4"}

    assert kinds(ward(at(10)), since=Since(begun={"episode-1"}, beds=beds)) == []
    assert what_broke(ward(at(10)), PLAN, Since(beds=beds)) == (
        Broken(
            Broke.GONE,
            ("episode-1",),
            (),
            period(60, 75),
            "bed 4: the unit was cancelled or sent back",
        ),
    )
    assert what_broke(ward(at(10)), PLAN, NOTHING)[0].words.startswith("bed episode-1: ")


def test_a_unit_that_is_held_is_told_with_the_reason() -> None:
    held = LeftOut("episode-1", "4", NotKnown.WARNED, (Work.CHECK_AND_START,))

    assert [
        (one.what, one.words) for one in what_broke(ward(at(10)), PLAN, Since(left_out=[held]))
    ] == [(Broke.HELD, "bed 4: a warning from another bed has to be checked first")]


def test_a_unit_that_was_ordered_since_is_told_but_not_one_that_found_no_place() -> None:
    new = unit("episode-2", patient_id="patient-2", bed="7", ready_at=at(10))
    problem = ward(at(10), waiting(at(10)), new)

    assert kinds(problem, accepted(PLANNED, unplaced=("episode-2",))) == []
    assert what_broke(problem, PLAN, NOTHING) == (
        Broken(
            Broke.NEW_UNIT,
            ("episode-2",),
            (),
            period(10, 15),
            "bed 7: ordered since, and not in the plan",
        ),
    )


def test_a_plan_is_looked_at_again_when_its_next_step_is_late() -> None:
    issued = waiting(at(10), is_issued=True, check_by=at(70))

    assert next_look_at(ward(at(10), waiting(at(10))), [PLANNED]) == at(55, 1)
    assert next_look_at(ward(at(55), waiting(at(55))), [PLANNED]) == at(55, 1)
    assert next_look_at(ward(at(55, 1), waiting(at(55, 1))), [PLANNED]) is None
    assert next_look_at(ward(at(10), issued), [PLANNED]) == at(80, 1)
    assert next_look_at(ward(at(10)), [PLANNED]) is None


@pytest.mark.parametrize(
    ("planned", "fields", "spare"),
    [
        # Out of storage from 10:50; 240 min are over at 14:50, and it is in at 12:35.
        (PLANNED, {}, 135),
        (PLANNED, {"done_by": at(167)}, 12),
        (PLANNED, {"done_by": at(154)}, -1),
        (start(60, call_at=None), {"is_issued": True, "check_by": at(72)}, 12),
        (start(60, call_at=None), {"is_issued": True}, None),
    ],
)
def test_a_start_says_what_it_leaves_of_the_limit_of_its_unit(
    planned: Start, fields: dict[str, Any], spare: int | None
) -> None:
    assert spare_of(planned, unit(**fields), TERMS) == spare
