"""The next change is exact: nothing changes before it, something changes at it."""

from datetime import datetime, timedelta
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from server.domain.changes import next_change_at
from server.domain.clocks import schedule
from server.domain.facts import HungSet
from server.domain.payloads import (
    Cancelled,
    Completed,
    FateRecorded,
    Issued,
    Paused,
    Started,
)
from server.domain.picture import Case, stand
from server.domain.reminders import reminders_owed
from server.domain.standing import Standing
from server.domain.urgency import urgency_at
from server.domain.words import Component, Fate
from tests.domain.builders import FULL, Fact, at, case, facts_from, running, with_policy
from tests.domain.episodes import cases, quick_cases

DAY = 24 * 60
MINUTES = timedelta(minutes=3)
LONG_WINDOWS = with_policy(start_target=timedelta(hours=8), return_within=timedelta(hours=8))


def changes(unit: Case, instants: list[datetime]) -> list[datetime]:
    """Those of the instants at which states, level or reminders differ from the one before."""
    facts = facts_from(unit)
    clocks = schedule(facts)
    seen = [look(stand(unit, facts, clocks, now)) for now in instants]
    return [
        now
        for now, (before, after) in zip(instants[1:], pairwise(seen), strict=True)
        if after != before
    ]


def look(standing: Standing) -> object:
    """What must not change unnoticed."""
    states = [state for _, state in standing.clocks]
    return states, urgency_at(standing).level, reminders_owed(standing)


def walk(unit: Case, start: datetime, most: int = 1_000) -> list[datetime]:
    """The changes as a job that only wakes for them finds them."""
    found: list[datetime] = []
    now = next_change_at(unit, start)
    while now is not None and len(found) < most:
        found.append(now)
        now = next_change_at(unit, now)
    return found


@pytest.mark.parametrize(
    ("facts", "now", "changed_at"),
    [
        ([], at(0), None),
        ([(0, Cancelled("not needed"))], at(0), None),
        ([(0, Issued())], at(0), at(20)),
        ([(0, Issued())], at(20), at(30)),
        ([(0, Issued())], at(30), at(30, 1)),
        ([(0, Issued()), (10, Started(150))], at(10), at(15)),
        ([(0, Issued()), (10, Started(150))], at(15), at(20)),
        ([(0, Issued()), (10, Started(150))], at(20), at(25)),
        ([(0, Issued()), (10, Started(150))], at(25), at(30, 1)),
        ([(0, Issued()), (10, Started(150))], at(30, 1), at(35)),
        (
            [(0, Issued()), (10, Started(300)), (25, FULL), (70, Completed()), (80, FULL)],
            at(80),
            at(120),
        ),
        (
            [
                (0, Issued()),
                (10, Started(300)),
                (25, FULL),
                (70, Completed()),
                (80, FULL),
                (90, FateRecorded(Fate.TRANSFUSED)),
            ],
            at(90),
            at(70 + DAY, 1),
        ),
    ],
)
def test_the_next_change(facts: list[Fact], now: datetime, changed_at: datetime | None) -> None:
    assert next_change_at(case(*facts), now) == changed_at


def test_a_unit_of_unknown_volume_changes_by_its_checks_alone() -> None:
    assert next_change_at(running((25, FULL), volume_ml=None), at(26)) == at(70)


def test_a_set_owed_until_the_start_has_no_limit_of_its_own() -> None:
    line = (HungSet(at(-60), Component.RED_CELLS),)
    given_unit = case((0, Issued()), component=Component.PLATELETS, line=line)

    assert next_change_at(given_unit, at(0)) == at(20)


def test_the_end_of_the_slow_start_is_a_change_when_the_rate_was_left_slow() -> None:
    policy = with_policy(
        first_opens=timedelta(minutes=30),
        first_due=timedelta(minutes=45),
        first_limit=timedelta(minutes=50),
    )
    given_unit = running(rate=50, policy=policy)

    assert next_change_at(given_unit, at(10)) == at(25)


def test_an_unstarted_unit_changes_a_second_after_its_latest_start() -> None:
    assert next_change_at(case((0, Issued()), policy=LONG_WINDOWS), at(100)) == at(184, 1)


def test_a_pause_changes_when_the_rest_no_longer_fits() -> None:
    """Paused with 205 mL left: at 300 mL/h that takes 41 min, so until 199 min."""
    policy = with_policy(running_every=timedelta(0))
    unit = case(
        (0, Issued()), (5, FULL), (10, Started(150)), (25, FULL), (40, Paused()), policy=policy
    )

    assert next_change_at(unit, at(41)) == at(199, 1)


def test_a_pause_that_lies_a_little_ahead_is_seen_through() -> None:
    """Bedside clocks may be ahead. 202.5 mL left at 10:41 fit until 13:19:30."""
    policy = with_policy(running_every=timedelta(0))
    unit = case(
        (0, Issued()), (5, FULL), (10, Started(150)), (25, FULL), (41, Paused()), policy=policy
    )

    assert next_change_at(unit, at(40)) == at(199, 31)


def test_a_rate_hardly_below_the_ceiling_changes_at_its_very_second() -> None:
    """What is left nears the ceiling so slowly that the tolerance of rates is a minute long."""
    policy = with_policy(running_every=timedelta(0))
    unit = running((5, FULL), (25, FULL), rate=299.9999, volume_ml=1149.99982, policy=policy)
    found = walk(unit, at(26), most=1)

    assert at(115) < found[0] < at(120)
    assert changes(unit, every_second(found[0] - MINUTES, found[0] + MINUTES)) == found


def every_second(start: datetime, end: datetime) -> list[datetime]:
    """Every second from the start to the end, both included."""
    return [start + timedelta(seconds=n) for n in range(int((end - start).total_seconds()) + 1)]


@given(quick_cases())
@settings(max_examples=12)
def test_walking_from_change_to_change_finds_what_looking_every_second_finds(unit: Case) -> None:
    last = max((item.happened_at for item in unit.events), default=at(0))
    start, end = at(-1), last + timedelta(seconds=700)

    found = [instant for instant in walk(unit, start) if instant <= end]

    assert found == changes(unit, every_second(start, end))


@given(st.data(), cases())
@settings(max_examples=40)
def test_nothing_changes_between_two_changes_of_a_real_policy(
    data: st.DataObject, unit: Case
) -> None:
    start = at(0, data.draw(st.integers(-60, 30_000)))
    found = walk(unit, start, most=30)
    last = found[-1] if len(found) == 30 else start + timedelta(days=40)
    span = int((last - start).total_seconds())
    drawn = data.draw(st.lists(st.integers(0, span), max_size=60))
    between = {start + timedelta(seconds=moment) for moment in drawn}
    second_before = {instant - timedelta(seconds=1) for instant in found}

    assert changes(unit, sorted({start, *between, *second_before, *found, last})) == found
