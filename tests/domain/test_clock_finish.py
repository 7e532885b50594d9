"""The finish limit: where it is counted from, and the second before, at and after it."""

from datetime import datetime, timedelta

import pytest

from server.domain.clock import Clock
from server.domain.clocks_unit import finish_limit_at
from server.domain.payloads import (
    Completed,
    Discarded,
    Issued,
    Payload,
    Received,
    Returned,
    Spiked,
    Started,
    Stopped,
)
from server.domain.words import ClockName, ClockState, Component
from tests.domain.builders import (
    COMMON,
    POLICIES,
    around,
    at,
    case,
    clocks,
    facts_from,
    states,
    states_as_lived,
    with_policy,
)

PATHWAY = (
    (0, Issued(removed_at=at(-10))),
    (5, Received()),
    (12, Spiked()),
    (15, Started(60)),
)


def limit_when_counted_from(*origins: str) -> datetime | None:
    policy = with_policy(finish_from=origins)
    return finish_limit_at(facts_from(case(*PATHWAY, policy=policy)))


@pytest.mark.parametrize(
    ("origins", "limit"),
    [
        (("removed",), at(230)),
        (("issued",), at(240)),
        (("received",), at(245)),
        (("spiked",), at(252)),
        (("started",), at(255)),
        (("started", "received"), at(245)),
        (("issued", "removed"), at(230)),
    ],
)
def test_the_limit_is_the_earliest_of_the_origins_of_the_policy(
    origins: tuple[str, ...], limit: datetime
) -> None:
    assert limit_when_counted_from(*origins) == limit


def test_a_bag_that_was_not_seen_to_be_entered_counts_as_entered_at_the_start() -> None:
    policy = with_policy(finish_from=("spiked",))
    given = case((0, Issued()), (15, Started(60)), policy=policy)

    assert finish_limit_at(facts_from(given)) == at(255)


def test_an_origin_that_was_not_recorded_is_left_out() -> None:
    policy = with_policy(finish_from=("received", "started"))
    issued = case((0, Issued()), policy=policy)
    started = case((0, Issued()), (15, Started(60)), policy=policy)

    assert finish_limit_at(facts_from(issued)) is None
    assert clocks(issued, ClockName.FINISH) == []
    assert finish_limit_at(facts_from(started)) == at(255)


@pytest.mark.parametrize(
    ("expires", "limit"), list(zip(around(at(240)), (at(240, -1), at(240), at(240)), strict=True))
)
def test_an_expiry_before_the_limit_takes_its_place(expires: datetime, limit: datetime) -> None:
    given = case((0, Issued(expires_at=expires)))

    assert finish_limit_at(facts_from(given)) == limit


def test_a_policy_may_leave_the_expiry_out_of_account() -> None:
    policy = with_policy(finish_respect_expiry=False)
    given = case((0, Issued(expires_at=at(60))), policy=policy)

    assert finish_limit_at(facts_from(given)) == at(240)


def test_each_component_has_its_own_minutes() -> None:
    limits = {
        component: finish_limit_at(
            facts_from(case((0, Issued()), component=component, policy=POLICIES["nz"]))
        )
        for component in (Component.RED_CELLS, Component.PLATELETS)
    }

    assert limits == {Component.RED_CELLS: at(240), Component.PLATELETS: at(60)}


def test_before_the_start_the_clock_is_shown_and_opens_with_it() -> None:
    issued = case((0, Issued()))
    started = case((0, Issued()), (20, Started(60)))

    assert clocks(issued, ClockName.FINISH) == [
        Clock(ClockName.FINISH, 1, None, at(240), at(240), "finish.minutes")
    ]
    assert clocks(started, ClockName.FINISH) == [
        Clock(ClockName.FINISH, 1, at(20), at(240), at(240), "finish.minutes")
    ]


def test_unmet_it_is_pending_until_the_start_open_until_the_limit_and_then_overdue() -> None:
    given = case((0, Issued()), (20, Started(60)))

    assert states_as_lived(
        given, ClockName.FINISH, at(0, -1), at(0), at(20, -1), at(20), *around(at(240))
    ) == [
        None,
        ClockState.PENDING,
        ClockState.PENDING,
        ClockState.OPEN,
        ClockState.OPEN,
        ClockState.DUE,
        ClockState.OVERDUE,
    ]


def test_a_unit_never_started_passes_its_limit_too() -> None:
    assert states(case((0, Issued())), ClockName.FINISH, *around(at(240))) == [
        ClockState.PENDING,
        ClockState.DUE,
        ClockState.OVERDUE,
    ]


@pytest.mark.parametrize("ending", [Completed(), Stopped("line blocked")])
@pytest.mark.parametrize(
    ("ended", "state"),
    list(
        zip(
            around(at(240)),
            (ClockState.MET, ClockState.MET, ClockState.MET_LATE),
            strict=True,
        )
    ),
)
def test_an_end_up_to_the_limit_meets_it_and_a_second_later_is_late(
    ended: datetime, state: ClockState, ending: Payload
) -> None:
    given = case((0, Issued()), (20, Started(60)), (ended, ending))

    assert states(given, ClockName.FINISH, ended, at(600)) == [state, state]


@pytest.mark.parametrize("away", [Returned(), Discarded("expired")])
def test_it_lapses_when_a_unit_that_was_never_started_leaves(away: Payload) -> None:
    given = case((0, Issued()), (20, away))

    assert states(given, ClockName.FINISH, at(20), at(300)) == [ClockState.LAPSED] * 2


def test_a_start_after_the_limit_opens_it_at_the_limit() -> None:
    given = case((0, Issued()), (250, Started(60)))

    assert clocks(given, ClockName.FINISH) == [
        Clock(ClockName.FINISH, 1, at(240), at(240), at(240), "finish.minutes")
    ]
    assert states(given, ClockName.FINISH, at(250)) == [ClockState.OVERDUE]


def test_a_record_without_an_issue_has_a_limit_only_if_the_start_is_an_origin() -> None:
    facts = ((15, Started(60)),)
    common = case(*facts, history=True)
    australian = case(*facts, history=True, policy=POLICIES["au"])

    assert clocks(common, ClockName.FINISH) == []
    assert finish_limit_at(facts_from(australian)) == at(255)


def test_the_limit_holds_through_the_night_the_clocks_change() -> None:
    """Durations are elapsed time: four hours stay four hours."""
    issued = datetime.fromisoformat("2026-03-29T00:30:00+00:00")
    given = case((issued, Issued()))

    limit = finish_limit_at(facts_from(given))

    assert limit == issued + COMMON.finish_within[Component.RED_CELLS]
    assert COMMON.finish_within[Component.RED_CELLS] == timedelta(hours=4)
