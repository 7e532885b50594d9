"""Giving sets: their hours, the set a unit finds on the line, and a new one before platelets."""

from dataclasses import replace
from datetime import datetime, timedelta

import pytest

from server.domain.clock import Clock, state_at
from server.domain.facts import HungSet
from server.domain.giving_sets import drops_per_ml_of, sets_of
from server.domain.payloads import (
    Completed,
    Issued,
    Payload,
    Returned,
    SetChanged,
    SetHung,
    Started,
)
from server.domain.picture import Case
from server.domain.words import ClockName, ClockState, Component
from tests.domain.builders import (
    COMMON,
    around,
    at,
    case,
    clock,
    clocks,
    look,
    states,
    with_policy,
)

MET, LATE, MISSED = ClockState.MET, ClockState.MET_LATE, ClockState.MISSED
OPEN, DUE, OVERDUE = ClockState.OPEN, ClockState.DUE, ClockState.OVERDUE
PENDING, LAPSED = ClockState.PENDING, ClockState.LAPSED
RED = Component.RED_CELLS
PLATELETS = Component.PLATELETS
TWELVE = 12 * 60


def sets(given: Case, now: datetime) -> list[tuple[int, datetime | None, ClockState]]:
    """Number, limit and state of each giving set clock."""
    return [(c.n, c.limit_at, state_at(c, now)) for c in clocks(given, ClockName.SET_CHANGE)]


@pytest.mark.parametrize(
    ("line", "drops"),
    [
        ((HungSet(at(-60), RED, 60),), 60),
        ((HungSet(at(-60), RED, 60), HungSet(at(-30), RED)), 20),
        ((HungSet(at(-60), RED, 60), HungSet(at(90), RED, 15)), 60),
        ((), 20),
    ],
    ids=["said", "another hung since", "hung after it came", "nothing hung"],
)
def test_a_unit_runs_through_the_set_that_hung_when_it_came(
    line: tuple[HungSet, ...], drops: int
) -> None:
    given = replace(case((0, Issued()), (5, Started(60))), line=line)
    before = replace(case(), line=line)

    assert look(given, at(6)).infusion.drops_per_min == drops
    assert drops_per_ml_of(look(before, at(6)).episode, line, COMMON) == 20


@pytest.mark.parametrize(("usual", "sets"), [(20, (20, 60)), (15, (15, 20, 60)), (60, (60, 20))])
def test_the_usual_set_is_one_of_the_wards(usual: int, sets: tuple[int, ...]) -> None:
    assert sets_of(with_policy(rate_drops_per_ml=usual)) == sets


def test_a_set_may_hang_for_the_hours_of_the_policy() -> None:
    given = case((-5, Issued()), (0, SetHung()), (5, Started(60)))

    assert clocks(given, ClockName.SET_CHANGE) == [
        Clock(ClockName.SET_CHANGE, 1, at(0), at(TWELVE), at(TWELVE), "giving_set.hours")
    ]
    assert states(given, ClockName.SET_CHANGE, *around(at(TWELVE))) == [OPEN, DUE, OVERDUE]


@pytest.mark.parametrize(
    ("changed", "state"), list(zip(around(at(TWELVE)), (MET, MET, LATE), strict=True))
)
def test_changing_it_meets_the_clock_and_starts_another(
    changed: datetime, state: ClockState
) -> None:
    given = case((-5, Issued()), (0, SetHung()), (5, Started(60)), (changed, SetChanged()))

    assert sets(given, at(TWELVE + 30)) == [
        (1, at(TWELVE), state),
        (2, changed + timedelta(hours=12), OPEN),
    ]


def test_each_set_is_replaced_by_the_next() -> None:
    given = case(
        (-5, Issued()), (0, SetHung()), (5, Started(9)), (600, SetChanged()), (900, SetChanged())
    )

    assert [found.met_at for found in clocks(given, ClockName.SET_CHANGE)] == [
        at(600),
        at(900),
        None,
    ]


@pytest.mark.parametrize(
    ("ended", "state"), list(zip(around(at(TWELVE)), (LAPSED, LAPSED, MISSED), strict=True))
)
def test_the_end_of_the_unit_takes_it_away_up_to_the_limit(
    ended: datetime, state: ClockState
) -> None:
    given = case((-5, Issued()), (0, SetHung()), (5, Started(60)), (ended, Completed()))

    assert states(given, ClockName.SET_CHANGE, ended) == [state]


def test_a_unit_that_goes_back_unstarted_takes_it_away_too() -> None:
    given = case((-5, Issued()), (0, SetHung()), (5, Returned()))

    assert sets(given, at(5)) == [(1, at(TWELVE), LAPSED)]


def test_without_a_set_on_record_nothing_is_owed() -> None:
    assert clocks(case((-5, Issued()), (5, Started(60))), ClockName.SET_CHANGE) == []
    assert clocks(case(), ClockName.SET_CHANGE) == []


def test_the_next_unit_finds_the_set_on_the_line_with_its_hours_running() -> None:
    given = case((100, Issued()), (110, Started(60)), line=(HungSet(at(0), RED),))

    assert sets(given, at(200)) == [(1, at(TWELVE), OPEN)]


def test_of_several_sets_on_the_line_the_last_before_the_start_is_found() -> None:
    line = (HungSet(at(0), RED), HungSet(at(50), RED), HungSet(at(120), RED))
    given = case((100, Issued()), (110, Started(60)), line=line)

    assert sets(given, at(200)) == [(1, at(TWELVE + 50), OPEN)]


@pytest.mark.parametrize(
    ("came", "found"), list(zip(around(at(TWELVE)), (True, True, False), strict=True))
)
def test_a_set_past_its_hours_is_not_taken_to_be_on_the_line(
    came: datetime, *, found: bool
) -> None:
    given = case((came, Issued()), line=(HungSet(at(0), RED),))

    assert bool(clocks(given, ClockName.SET_CHANGE)) is found


@pytest.mark.parametrize(
    ("hung", "limit"),
    list(zip(around(at(110)), (at(TWELVE + 110, -1), at(TWELVE + 110), at(TWELVE)), strict=True)),
)
def test_a_set_found_on_the_line_was_hung_by_the_start_for_another_unit(
    hung: datetime, limit: datetime
) -> None:
    line = (HungSet(at(0), RED), HungSet(hung, RED))
    given = case((100, Issued()), (110, Started(60)), line=line)

    assert clock(given, ClockName.SET_CHANGE).limit_at == limit


@pytest.mark.parametrize(
    ("hung", "found"),
    list(zip(around(at(110)), ([at(TWELVE + 110, -1)], [at(TWELVE + 110)], None), strict=True)),
)
def test_a_set_hung_up_to_the_start_is_the_unit_s_own(
    hung: datetime, found: list[datetime] | None
) -> None:
    facts = ((100, Issued()), (hung, SetHung()), (110, Started(60)))
    given = case(*facts, line=(HungSet(at(0), RED),))

    assert [limit for _, limit, _ in sets(given, at(120))] == (
        found or [at(TWELVE), at(TWELVE + 110, 1)]
    )


def test_a_set_hung_for_this_unit_before_its_start_takes_the_place_of_the_one_found() -> None:
    given = case((100, Issued()), (105, SetHung()), (110, Started(60)), line=(HungSet(at(0), RED),))

    assert sets(given, at(200)) == [(1, at(TWELVE + 105), OPEN)]


@pytest.mark.parametrize(
    ("changed", "state"), list(zip(around(at(TWELVE)), (MET, MET, LATE), strict=True))
)
def test_changing_the_set_found_on_the_line_meets_its_clock(
    changed: datetime, state: ClockState
) -> None:
    given = case(
        (600, Issued()), (610, Started(60)), (changed, SetChanged()), line=(HungSet(at(0), RED),)
    )

    assert sets(given, at(TWELVE + 10)) == [
        (1, at(TWELVE), state),
        (2, changed + timedelta(hours=12), OPEN),
    ]


def test_platelets_after_red_cells_owe_a_new_set_at_once() -> None:
    line = (HungSet(at(0), RED),)
    waiting = case((100, Issued()), component=PLATELETS, line=line)
    started = case((100, Issued()), (110, Started(60)), component=PLATELETS, line=line)
    rule = "giving_set.new_before_platelets"

    assert clocks(waiting, ClockName.SET_CHANGE) == [
        Clock(ClockName.SET_CHANGE, 1, at(100), at(100), None, rule)
    ]
    assert states(waiting, ClockName.SET_CHANGE, *around(at(100))) == [PENDING, DUE, DUE]
    assert clocks(started, ClockName.SET_CHANGE) == [
        Clock(ClockName.SET_CHANGE, 1, at(100), at(100), at(110), rule, over_at=at(110))
    ]
    assert states(started, ClockName.SET_CHANGE, *around(at(110))) == [DUE, MISSED, MISSED]


@pytest.mark.parametrize("new_set", [SetHung(), SetChanged()])
@pytest.mark.parametrize(
    ("hung", "state"), list(zip(around(at(110)), (MET, MET, MISSED), strict=True))
)
def test_a_new_set_up_to_the_start_of_the_platelets_meets_it(
    hung: datetime, state: ClockState, new_set: Payload
) -> None:
    order = ((hung, new_set), (110, Started(60)))
    given = case((100, Issued()), *order, component=PLATELETS, line=(HungSet(at(0), RED),))

    assert sets(given, at(120)) == [
        (1, at(110), state),
        (2, hung + timedelta(hours=12), OPEN),
    ]


def test_platelets_that_go_back_do_not_owe_it() -> None:
    given = case(
        (100, Issued()), (105, Returned()), component=PLATELETS, line=(HungSet(at(0), RED),)
    )

    assert states(given, ClockName.SET_CHANGE, *around(at(105))) == [DUE, LAPSED, LAPSED]


@pytest.mark.parametrize(
    ("component", "hung_for"), [(PLATELETS, PLATELETS), (RED, PLATELETS), (RED, RED)]
)
def test_no_other_sequence_asks_for_a_new_set(component: Component, hung_for: Component) -> None:
    given = case((100, Issued()), component=component, line=(HungSet(at(0), hung_for),))

    assert clock(given, ClockName.SET_CHANGE).rule == "giving_set.hours"


def test_a_policy_may_let_platelets_through_the_same_set() -> None:
    policy = with_policy(giving_set_new_before_platelets=False)
    given = case((100, Issued()), component=PLATELETS, line=(HungSet(at(0), RED),), policy=policy)

    assert clock(given, ClockName.SET_CHANGE).limit_at == at(TWELVE)


def test_the_line_seen_as_of_an_instant_has_only_the_sets_hung_by_then() -> None:
    line = (HungSet(at(0), RED), HungSet(at(50), RED))

    assert case(line=line).known(at=at(49)).line == line[:1]
    assert case(line=line).known(known_at=at(49)).line == line
