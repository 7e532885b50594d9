"""What the accepted plan makes of a row: when to call, what a start leaves, when it is too late."""

from dataclasses import replace
from datetime import timedelta

import pytest

from server.domain.payloads import Available, Issued, Started
from server.domain.picture import Case
from server.domain.plan.plan import Plan
from server.domain.plan.planned import Planned
from server.domain.plan.proposal import Maker, Objective, Proposal, Start, Status
from server.domain.urgency import Urgency
from server.domain.words import Level
from tests.domain.builders import COMMON, FULL, at, case, look

LONG = replace(COMMON, start_target=timedelta(hours=5), return_within=timedelta(hours=5))
PLANNED = Planned(at(20), at(60), "n1", "n2", spare_minutes=12)


def _with(given: Case, planned: Planned | None = PLANNED) -> Case:
    return replace(given, planned=planned)


@pytest.mark.parametrize(
    ("minute", "planned", "said"),
    [
        (0, PLANNED, "call at 10:20, start at 11:00 leaves 12 min to spare."),
        (20, replace(PLANNED, spare_minutes=None), "call at 10:20, start at 11:00."),
        (26, PLANNED, "call was planned for 10:20, 6 min ago."),
    ],
)
def test_a_waiting_row_says_when_to_call(minute: int, planned: Planned, said: str) -> None:
    urgency = look(_with(case((0, Available())), planned), at(minute)).urgency

    asked = case((0, Available())).request.recorded_at
    assert urgency == Urgency(Level.WAITING, asked, at(20), f"Ready at the blood bank; {said}")


def test_a_plan_made_after_the_issue_calls_for_nothing() -> None:
    planned = replace(PLANNED, call_at=None)

    reason = look(_with(case((0, Available())), planned), at(0)).urgency.reason

    assert reason == "Ready at the blood bank."


def _issued(planned: Planned | None = PLANNED) -> Case:
    """280 mL at up to 300 mL/h: 56 minutes, so that 13:04 is the latest start for 14:00."""
    given = case((0, Issued(volume_ml=280)), (1, FULL), policy=LONG)
    return _with(given, planned)


def test_an_issued_row_says_what_the_planned_start_leaves() -> None:
    reasons = [look(_issued(), at(minute)).urgency.reason for minute in (30, 61)]

    assert reasons == [
        "Issued 10:00, not started; start at 11:00 leaves 2 h 04 to spare.",
        "Issued 10:00, not started; start was planned for 11:00, 1 min ago.",
    ]
    assert look(_issued(None), at(61)).urgency.reason == "Issued 10:00, not started."


def test_a_planned_start_past_the_latest_is_at_risk() -> None:
    in_time = look(_issued(replace(PLANNED, start_at=at(184))), at(30)).urgency
    too_late = look(_issued(replace(PLANNED, start_at=at(184, 1))), at(30)).urgency
    later = look(_issued(replace(PLANNED, start_at=at(200))), at(30)).urgency
    without = look(_issued(None), at(185)).urgency

    assert in_time.level is Level.STEADY
    assert (too_late.level, too_late.reason) == (
        Level.AT_RISK,
        (
            "Start planned for 13:04, 1 min too late: "
            "13:04 is the latest start at 300 mL/h to end by 14:00."
        ),
    )
    assert later.reason == (
        "Start planned for 13:20, 16 min too late: "
        "13:04 is the latest start at 300 mL/h to end by 14:00."
    )
    assert (without.level, without.reason) == (
        Level.AT_RISK,
        "Not started; 13:04 was the latest start at 300 mL/h to end by 14:00.",
    )


def test_what_is_started_has_no_plan_any_more() -> None:
    given = _with(case((0, Issued()), (5, FULL), (10, Started(150))))

    assert look(given, at(11)).standing.planned is None


def test_a_plan_answers_what_the_ward_shows() -> None:
    start = Start("e1", at(20), at(50), at(60), at(75), at(180), "n1", "n2", spare_minutes=12)
    proposal = Proposal(
        "w1", at(0), at(480), Maker.HAND, Status.FEASIBLE, Objective(0, 0, 0, 0, 0),
        None, None, 0.1, (start,), (),
    )  # fmt: skip
    plan = Plan("a", "w1", at(0), "c1", "Asked", proposal)

    assert plan.planned_of("e1") == PLANNED
    assert plan.planned_of("e2") is None
