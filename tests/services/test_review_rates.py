"""Rates of a ward: the same from derived rows, from folded facts, and before a tick has come."""

from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

from server.domain.clock import BREACHED
from server.domain.errors import Invalid
from server.domain.payloads import Returned
from server.domain.review.counted import RATED
from server.domain.review.periods import By
from server.domain.review.rates import Tally
from server.domain.words import ClockName, Component
from server.domain.workload.period import Period
from server.services.errors import Forbidden, NotFound
from server.services.list_breaches import list_breaches
from server.services.review_rates import Asked, WardRates, review_rates
from tests.domain.builders import at
from tests.services.charting import Charting
from tests.services.engines import ON_BOTH_ENGINES
from tests.services.people import MANAGER, NURSE, OUTSIDER
from tests.services.random_files import fresh_stores
from tests.services.told_week import END, Week

LONG = Period(at(-2_000), at(20_000))
START, FATE = ClockName.START, ClockName.FATE


def rates(charting: Charting, minute: float, **asked: Any) -> WardRates:
    """What the manager sees."""
    actor, ward_id = asked.pop("actor", MANAGER), asked.pop("ward_id", "w1")
    wanted = Asked(**({"period": LONG} | asked))
    with charting.store.read() as session:
        return review_rates(session, actor, ward_id, wanted, now=at(minute))


def start_of(charting: Charting, minute: float, **asked: Any) -> Tally:
    """The tally of the starts."""
    return rates(charting, minute, **asked).whole.tallies[START]


@ON_BOTH_ENGINES
def test_a_limit_counts_once_it_is_passed_or_kept_whether_a_tick_came_or_not(
    charting: Charting,
) -> None:
    charting.open("e1", "p1")
    charting.issue("e1")

    before = [start_of(charting, minute) for minute in (29, 30, 31)]
    charting.tick(31)
    after = start_of(charting, 31)
    charting.start("e1", minute=35)

    assert before == [Tally(), Tally(), Tally(missed=1)]
    assert (after, start_of(charting, 35)) == (Tally(missed=1), Tally(late=1))
    assert charting.rebuild(35).differed == ()


def test_the_edges_of_a_period_lie_at_the_limit(charting: Charting) -> None:
    charting.open("e1", "p1")
    charting.issue("e1")
    charting.start("e1", minute=12)
    edges = [(29, 30), (30, 31), (31, 40)]

    found = [start_of(charting, 60, period=Period(at(a), at(b))).met for a, b in edges]

    assert found == [0, 1, 0]


def test_what_lapsed_or_is_not_due_yet_is_not_owed(charting: Charting) -> None:
    charting.open("e1", "p1")
    charting.issue("e1")
    charting.record(10, Returned())

    found = rates(charting, 11).whole.tallies

    assert set(found) == {*ClockName} - {ClockName.LATE_WATCH}
    assert {clock: tally for clock, tally in found.items() if tally.owed} == {
        ClockName.RETURN: Tally(met=1),
        FATE: Tally(met=1),
    }


def test_of_several_components_one_can_be_asked_for(charting: Charting) -> None:
    charting.run("e1", "p1")
    charting.run("e2", "p2", component=Component.PLATELETS)
    # Nobody has ticked: what is stored of the second unit is taken out and put in again.
    late = {"component": Component.PLATELETS}

    found = [rates(charting, 40, **asked).whole.tallies for asked in ({}, late)]

    assert [one[START] for one in found] == [Tally(met=2), Tally(met=1)]
    assert [one[ClockName.FIRST_CHECK] for one in found] == [Tally(missed=2), Tally(missed=1)]


def test_a_simulated_week_counts_the_same_from_rows_and_from_facts(
    sqlite_wards: Path, tmp_path: Path
) -> None:
    """Late entries, corrections, voids, reactions and returns; a tick after half of the acts."""
    with fresh_stores(sqlite_wards, tmp_path / "week.db") as (store,):
        charting = Charting(store)
        for number, now in enumerate(Week(charting, seed=3, minutes=30)):
            if number % 2:
                charting.tick(now)
        asked = {"period": Period(at(-600), END + timedelta(days=3)), "by": By.DAY}
        minute = (END - at(0)).total_seconds() / 60 + 30

        counted = rates(charting, minute, **asked)
        folded = rates(charting, minute, at=at(minute), **asked)
        with store.read() as session:
            listed = list_breaches(session, MANAGER, "w1", now=at(minute))
        charting.tick(minute)
        ticked = rates(charting, minute, **asked)

    assert counted == folded == ticked
    broken = [one.breach.clock for one in listed]
    tallies = counted.whole.tallies
    assert {clock: tallies[clock].late + tallies[clock].missed for clock in RATED} == {
        clock: broken.count(clock) for clock in RATED
    }
    assert {one.breach.state for one in listed} <= BREACHED
    assert sum(tally.met for tally in tallies.values()) > 10
    assert len(counted.parts) == 11


@pytest.mark.parametrize(
    ("asked", "field"),
    [
        ({"period": Period(at(0), at(0))}, "to"),
        ({"period": Period(at(0), at(0) + timedelta(days=2_001)), "by": By.DAY}, "by"),
    ],
)
def test_a_period_that_cannot_be_told_is_refused(
    charting: Charting, asked: dict[str, Any], field: str
) -> None:
    with pytest.raises(Invalid) as refused:
        rates(charting, 0, **asked)

    assert refused.value.field == field


def test_a_nurse_reads_the_rates_of_the_ward_and_nobody_those_of_another(
    charting: Charting,
) -> None:
    charting.run()

    assert start_of(charting, 40, actor=NURSE) == Tally(met=1)
    with pytest.raises(Forbidden, match="not one of your wards"):
        rates(charting, 40, actor=OUTSIDER)
    with pytest.raises(NotFound):
        rates(charting, 40, ward_id="w7")
