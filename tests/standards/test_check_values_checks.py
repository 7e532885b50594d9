"""Published check values 8 to 12, 18 and 20: observations, sets, identity and the record.

Left out, because the program does not hold the fact: the 12 h window for circulatory overload
(12) and how long records of the cold chain are kept (20). Values 17 and 19 have files of their own.
"""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from server.domain.errors import Refused
from server.domain.facts import HungSet
from server.domain.gate import require_start
from server.domain.payloads import (
    Completed,
    IdentityChecked,
    Issued,
    Returned,
    SetHung,
    Started,
)
from server.domain.words import ClockName, ClockState, Component, Fate, Phase
from tests.domain.builders import (
    CHECKED,
    COMMON,
    FULL,
    POLICIES,
    SOUND,
    at,
    case,
    clock,
    facts_from,
    look,
    states,
)

MET, LATE, MISSED = ClockState.MET, ClockState.MET_LATE, ClockState.MISSED
WITHOUT_RESPIRATIONS = replace(FULL, respirations_per_min=None)
GIVEN = ((0, Issued()), (10, Started(150)), (25, FULL), (140, Completed()))


@pytest.mark.parametrize("policy", ["uk", "nz"])
@pytest.mark.parametrize(("taken", "state"), [(at(-50), MET), (at(-51), MISSED)])
def test_08_a_baseline_is_valid_for_sixty_minutes_and_not_for_sixty_one(
    policy: str, taken: datetime, state: ClockState
) -> None:
    """JPAC 4.11, NZBS 3.12: start 10:10; 09:10 is valid, 09:09 has to be repeated."""
    given = case((0, Issued()), (10, Started(60)), (taken, FULL), policy=POLICIES[policy])

    assert states(given, ClockName.BASELINE_CHECK, at(10)) == [state]


@pytest.mark.parametrize("policy", ["common", "uk", "nz", "au", "ca"])
def test_09_a_quarter_of_an_hour_after_the_start_observations_are_due(policy: str) -> None:
    """JPAC 4.11, NZBS 3.12, Lifeblood: start 10:10, due 10:25."""
    given = case((0, Issued()), (10, Started(60)), policy=POLICIES[policy])

    assert clock(given, ClockName.FIRST_CHECK).due_at == at(25)


@pytest.mark.parametrize(
    ("policy", "state"),
    [("uk", MET), ("nz", ClockState.DUE), ("au", ClockState.DUE), ("common", ClockState.DUE)],
)
def test_09_without_respirations_the_set_is_full_in_the_uk_only(
    policy: str, state: ClockState
) -> None:
    """JPAC 4.11: pulse, blood pressure, temperature. NZBS 3.12, Lifeblood: respirations too."""
    given = case(
        (0, Issued()), (10, Started(60)), (25, WITHOUT_RESPIRATIONS), policy=POLICIES[policy]
    )

    assert states(given, ClockName.FIRST_CHECK, at(26)) == [state]


@pytest.mark.parametrize("policy", ["uk", "nz"])
@pytest.mark.parametrize(("taken", "state"), [(at(200), MET), (at(201), LATE)])
def test_10_end_observations_are_in_time_at_sixty_minutes_and_late_at_sixty_one(
    policy: str, taken: datetime, state: ClockState
) -> None:
    """JPAC 4.11, NZBS 3.12: end 12:20; 13:20 is in time, 13:21 late."""
    given = case(*GIVEN, (taken, FULL), policy=POLICIES[policy])

    assert states(given, ClockName.END_CHECK, taken) == [state]


def test_11_end_observations_of_one_unit_are_the_baseline_of_the_next() -> None:
    """JPAC 4.11: taken 12:25, the second unit starts 12:40; a quarter of an hour is no advice."""
    taken = (145, FULL)
    first = case(*GIVEN, taken, policy=POLICIES["uk"])
    second = case((150, Issued()), (160, Started(60)), taken, policy=POLICIES["uk"], id="episode-2")

    assert clock(first, ClockName.END_CHECK).met_at == at(145)
    assert clock(second, ClockName.BASELINE_CHECK).met_at == at(145)
    assert look(second, at(161)).advices == ()


def test_12_an_inpatient_is_watched_for_late_signs_until_the_same_time_next_day() -> None:
    """JPAC 4.11: end 12:20 on day 1, watch until 12:20 on day 2."""
    given = case(*GIVEN, policy=POLICIES["uk"])

    assert clock(given, ClockName.LATE_WATCH).limit_at == at(140) + timedelta(days=1)


@pytest.mark.parametrize(("hours", "change_by"), [(12, at(600)), (8, at(360))])
def test_18_a_set_hung_at_eight_is_changed_by_twenty_hundred(
    hours: int, change_by: datetime
) -> None:
    """Lifeblood: 12 h; an older version of the page said 8 h, which is 16:00."""
    policy = replace(COMMON, giving_set_life=timedelta(hours=hours))
    given = case((-130, Issued()), (-120, SetHung()), (-115, Started(60)), policy=policy)

    assert clock(given, ClockName.SET_CHANGE).limit_at == change_by


@pytest.mark.parametrize("policy", ["common", "uk", "au"])
def test_18_platelets_at_eleven_after_red_cells_need_a_new_set_then(policy: str) -> None:
    """Lifeblood, JPAC 4.13: never through a set used for red cells."""
    given = case(
        (60, Issued()),
        component=Component.PLATELETS,
        line=(HungSet(at(-120), Component.RED_CELLS),),
        policy=POLICIES[policy],
    )

    assert clock(given, ClockName.SET_CHANGE).due_at == at(60)
    assert states(given, ClockName.SET_CHANGE, at(60)) == [ClockState.DUE]


@pytest.mark.parametrize("policy", ["common", "uk", "nz", "au", "ca"])
def test_20_a_check_interrupted_at_step_five_starts_again_at_step_one(policy: str) -> None:
    """JPAC 4.10, BCSH 2009 s.14.1: an interrupted check is no check."""
    five_steps = IdentityChecked(
        first_by="nurse-1", second_by="nurse-2", items=CHECKED.items * 5, interrupted=True
    )
    facts = ((0, Issued()), (2, SOUND), (3, five_steps))
    interrupted = case(*facts, (10, Started(60)), policy=POLICIES[policy])
    repeated = case(*facts, (6, CHECKED), (10, Started(60)), policy=POLICIES[policy])

    with pytest.raises(Refused) as refused:
        require_start(facts_from(interrupted), Started(60))
    require_start(facts_from(repeated), Started(60))

    assert refused.value.reason == (
        "The start is refused: the identity check was interrupted and starts again from the top."
    )


def test_20_a_unit_returned_unused_has_its_fate_and_date_recorded() -> None:
    """Directive 2005/61/EC Annex I: the fate of a component that is not transfused, and when."""
    returned = datetime(2025, 3, 1, 9, 0, tzinfo=UTC)
    given = case((returned - timedelta(minutes=20), Issued()), (returned, Returned()))
    episode = facts_from(given).episode

    assert (episode.phase, episode.fate, episode.fate_at) == (
        Phase.RETURNED,
        Fate.RETURNED,
        returned,
    )


def test_20_the_record_is_kept_for_thirty_years() -> None:
    """UK Blood Safety and Quality Regulations 2005, reg. 9(1)(e): to 1 March 2055 at least."""
    recorded = datetime(2025, 3, 1, tzinfo=UTC)
    years = POLICIES["uk"].retention_years

    assert recorded.replace(year=recorded.year + years) == datetime(2055, 3, 1, tzinfo=UTC)
