"""Published check values 1 to 7: the unit's own limits.

Unless said otherwise: an adult, stable, red cells, 280 mL; removed means that the unit left
controlled storage, here at 10:00. "Refuse the plan" (5) and "one pack per collection" (6) are a
planner's to say; what the schedule itself says of them is tested.
"""

from datetime import datetime, timedelta

import pytest

from server.domain.clocks_unit import finish_limit_at
from server.domain.gate import require_start
from server.domain.payloads import Completed, Issued, Returned, Started
from server.domain.words import ClockName, ClockState, Component, Level
from tests.domain.builders import (
    CHECKED,
    FULL,
    POLICIES,
    SOUND,
    at,
    case,
    clock,
    facts_from,
    look,
    near,
    states,
)

REMOVED = (0, Issued())


@pytest.mark.parametrize(
    ("policy", "ends_by"),
    [("uk", at(240)), ("nz", at(240)), ("ca", at(240)), ("au", at(265))],
)
def test_01_removed_at_ten_and_started_at_ten_twenty_five(policy: str, ends_by: datetime) -> None:
    """JPAC 4.13 (removal), NZBS 3.11 (removal, issue), CSTM L4.1 (issue): by 14:00.

    Melbourne Health, counting from the start: by 14:25.
    """
    given = case(REMOVED, (25, Started(150)), policy=POLICIES[policy])

    assert finish_limit_at(facts_from(given)) == ends_by


def test_01_leaves_215_minutes_and_needs_78_millilitres_an_hour() -> None:
    """JPAC 4.13; arithmetic: 280 mL in 215 min are 78.14 mL/h."""
    given = case(REMOVED, (25, Started(150)), policy=POLICIES["uk"])
    infusion = look(given, at(25)).infusion

    assert infusion.needed_rate_ml_h == near(280 / 215 * 60)
    assert round(infusion.needed_rate_ml_h or 0, 1) == 78.1


@pytest.mark.parametrize(
    ("policy", "at_half_past", "a_minute_later"),
    [
        ("uk", ClockState.DUE, ClockState.OVERDUE),
        ("nz", ClockState.DUE, ClockState.OVERDUE),
        ("ca", ClockState.OPEN, ClockState.OPEN),
    ],
)
def test_02_unstarted_it_may_go_back_at_thirty_minutes_and_not_at_thirty_one(
    policy: str, at_half_past: ClockState, a_minute_later: ClockState
) -> None:
    """JPAC 4.8, NZBS 3.11: 30 min. CSA Z902 as explained by CBS: 60 min."""
    given = case(REMOVED, policy=POLICIES[policy])

    assert states(given, ClockName.RETURN, at(30), at(31)) == [at_half_past, a_minute_later]


def test_02_if_a_start_is_imminent_it_may_still_be_given_by_fourteen_hundred() -> None:
    """NZBS 3.11: a short delay is tolerated if it is in within 4 h."""
    facts = ((10, SOUND), (11, CHECKED), (31, Started(150)))
    given = facts_from(case(REMOVED, *facts, policy=POLICIES["nz"]))

    require_start(given, Started(150))

    assert finish_limit_at(given) == at(240)


@pytest.mark.parametrize(
    ("returned", "state"), [(at(60), ClockState.MET), (at(61), ClockState.MET_LATE)]
)
def test_03_in_canada_a_return_is_in_time_at_sixty_minutes_and_late_at_sixty_one(
    returned: datetime, state: ClockState
) -> None:
    """CSA Z902 as explained by Canadian Blood Services: beyond 60 min the unit is discarded."""
    given = case(REMOVED, (returned, Returned()), policy=POLICIES["ca"])

    assert states(given, ClockName.RETURN, returned) == [state]


def test_04_started_at_fifty_minutes_over_ninety_it_is_late_and_ends_in_time() -> None:
    """NZBS 3.11: 30 min are a limit for going back, not for starting; warn, do not block."""
    facts = ((40, SOUND), (41, CHECKED), (45, FULL), (50, Started(280 / 1.5)))
    given = case(REMOVED, *facts, duration_minutes=90, policy=POLICIES["nz"])
    seen = look(given, at(51))

    require_start(facts_from(given), Started(280 / 1.5))

    assert states(given, ClockName.START, at(51)) == [ClockState.MET_LATE]
    assert (seen.infusion.projected_end_at, seen.infusion.spare_minutes) == (at(140), 100.0)
    assert seen.urgency.level is Level.STEADY


def test_05_started_at_seventy_five_minutes_over_three_hours_it_would_end_too_late() -> None:
    """JPAC 4.13: projected 14:15, a quarter of an hour past 14:00; 165 min are the longest."""
    facts = ((70, FULL), (75, Started(280 / 3)))
    given = case(REMOVED, *facts, duration_minutes=180, policy=POLICIES["uk"])
    seen = look(given, at(76))
    limit = finish_limit_at(facts_from(given))

    assert (seen.infusion.projected_end_at, seen.infusion.spare_minutes) == (at(255), -15.0)
    assert seen.urgency.level is Level.AT_RISK
    assert limit is not None
    assert limit - at(75) == timedelta(minutes=165)


def test_06_of_two_packs_removed_together_the_second_would_end_too_late() -> None:
    """JPAC 4.13; Lifeblood, collection: one pack at a time. 12:40 over 90 min is 14:10."""
    first = case(REMOVED, (20, Started(140)), (140, Completed()), policy=POLICIES["uk"])
    facts = ((145, FULL), (160, Started(280 / 1.5)))
    second = case(REMOVED, *facts, duration_minutes=90, policy=POLICIES["uk"], id="episode-2")
    seen = look(second, at(161))

    assert states(first, ClockName.FINISH, at(140)) == [ClockState.MET]
    assert (seen.infusion.projected_end_at, seen.infusion.spare_minutes) == (at(250), -10.0)
    assert seen.urgency.level is Level.AT_RISK


@pytest.mark.parametrize(("policy", "state"), [("nz", ClockState.OVERDUE), ("uk", ClockState.OPEN)])
def test_07_platelets_issued_an_hour_and_a_minute_ago(policy: str, state: ClockState) -> None:
    """NZBS 3.11: 1 h from issue. JPAC 4.13: 30 to 60 min as a rule, 4 h as the outer limit."""
    given = case(
        (180, Issued()),
        (190, Started(200)),
        component=Component.PLATELETS,
        policy=POLICIES[policy],
    )

    assert states(given, ClockName.FINISH, at(241)) == [state]
    assert clock(given, ClockName.FINISH).limit_at == (at(240) if policy == "nz" else at(420))
