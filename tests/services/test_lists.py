"""What is due, what was missed, what was raised: of one's own ward only."""

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest

from server.domain.breach_list import Wanted
from server.domain.payloads import (
    Acknowledged,
    Assigned,
    CauseGiven,
    Completed,
    FateRecorded,
)
from server.domain.words import ClockName, ClockState, Fate
from server.services.actor import Actor
from server.services.errors import Forbidden, NotFound
from server.services.list_breaches import list_breaches
from server.services.list_due import DueItem, list_due
from server.services.list_reminders import list_reminders
from server.services.passed_limits import Period
from tests.domain.builders import at
from tests.services.charting import Charting, instant
from tests.services.engines import ON_BOTH_ENGINES
from tests.services.people import CHARGE, MANAGER, NURSE, OUTSIDER, PROGRAM
from tests.store.facts import counted_queries

LISTS: dict[str, Callable[..., tuple[Any, ...]]] = {
    "due": list_due,
    "breaches": list_breaches,
    "reminders": lambda session, actor, ward_id, **_: list_reminders(session, actor, ward_id),
}


def chart(charting: Charting) -> None:
    """`e1` issued at the base and not started, `e2` started at 10 min; ticked at 35 min."""
    charting.open("e1", "p1", bed="1")
    charting.issue("e1")
    charting.run("e2", "p2", bed="2")
    charting.record(11, Assigned("nurse-2"), "e2")
    charting.tick(35)


def _due(charting: Charting, when: float, **asked: Any) -> list[tuple[str, str, Any]]:
    return [
        (item.picture.case.request.id, f"{item.clock.name}:{item.clock.n}", item.state)
        for item in _items(charting, when, **asked)
    ]


def _items(charting: Charting, when: float, **asked: Any) -> tuple[DueItem, ...]:
    with charting.store.read() as session:
        return list_due(session, NURSE, "w1", now=at(when), **asked)


def _breaches(charting: Charting, when: float, *period: Period, **asked: Any) -> list[Any]:
    with charting.store.read() as session:
        rows = list_breaches(session, MANAGER, "w1", *period, now=instant(when), **asked)
    return [
        (row.picture.case.request.id, row.breach.clock, row.breach.limit_at, row.breach.state)
        for row in rows
    ]


@pytest.mark.parametrize("name", LISTS)
@pytest.mark.parametrize("actor", [NURSE, CHARGE, MANAGER, PROGRAM], ids=lambda one: one.id)
def test_the_ward_s_own_see_the_list(ward: Charting, name: str, actor: Actor) -> None:
    with ward.store.read() as session:
        assert len(LISTS[name](session, actor, "w1", now=at(35))) > 1


@pytest.mark.parametrize("name", LISTS)
def test_an_outsider_sees_nothing_of_it(ward: Charting, name: str) -> None:
    with ward.store.read() as session:
        with pytest.raises(Forbidden, match="this is not one of your wards"):
            LISTS[name](session, OUTSIDER, "w1", now=at(35))

        assert LISTS[name](session, OUTSIDER, "w2", now=at(35)) == ()


@pytest.mark.parametrize("name", LISTS)
def test_an_unknown_ward_is_not_found(ward: Charting, name: str) -> None:
    with ward.store.read() as session, pytest.raises(NotFound):
        LISTS[name](session, PROGRAM, "w7", now=at(35))


@ON_BOTH_ENGINES
def test_what_is_owed_stands_in_the_order_of_falling_due(ward: Charting) -> None:
    assert _due(ward, 26) == [
        ("e2", "first_check:1", ClockState.DUE),
        ("e1", "return:1", ClockState.OPEN),
        ("e1", "start:1", ClockState.OPEN),
        ("e2", "running_check:1", ClockState.PENDING),
        ("e2", "finish:1", ClockState.OPEN),
        ("e1", "finish:1", ClockState.PENDING),
    ]


@pytest.mark.parametrize(("within", "count"), [(0, 1), (3, 1), (4, 3), (59, 4), (None, 6)])
def test_within_so_many_minutes_means_to_the_second(
    ward: Charting, within: int | None, count: int
) -> None:
    assert len(_due(ward, 26, within_minutes=within)) == count


def test_one_nurse_s_own_are_those_of_their_units(ward: Charting) -> None:
    assert {unit for unit, *_ in _due(ward, 26, nurse_id="nurse-2")} == {"e2"}
    assert _due(ward, 26, nurse_id="nurse-1") == []


def test_who_has_it_is_named_and_it_stays_owed(ward: Charting) -> None:
    ward.record(36, Acknowledged(ClockName.START, "nurse-1"), "e1")

    items = {item.clock.name: item for item in _items(ward, 37) if item.clock.name != "finish"}

    assert {name: item.acknowledged_by for name, item in items.items()} == {
        ClockName.START: "nurse-1",
        ClockName.RETURN: None,
        ClockName.FIRST_CHECK: None,
        ClockName.RUNNING_CHECK: None,
    }


@ON_BOTH_ENGINES
def test_what_was_due_then(ward: Charting) -> None:
    assert _due(ward, 600, at=at(9)) == [
        ("e1", "return:1", ClockState.OPEN),
        ("e1", "start:1", ClockState.OPEN),
        ("e2", "return:1", ClockState.OPEN),
        ("e2", "start:1", ClockState.OPEN),
        ("e1", "finish:1", ClockState.PENDING),
        ("e2", "finish:1", ClockState.PENDING),
    ]
    assert _due(ward, 600, at=at(9), known_at=at(-1)) == []


@ON_BOTH_ENGINES
def test_breaches_stand_in_the_order_of_their_limits(ward: Charting) -> None:
    assert _breaches(ward, 35) == [
        ("e1", ClockName.RETURN, at(30), ClockState.OVERDUE),
        ("e1", ClockName.START, at(30), ClockState.OVERDUE),
        ("e2", ClockName.FIRST_CHECK, at(30), ClockState.OVERDUE),
    ]


def test_a_breach_that_no_tick_has_noticed_is_one(ward: Charting) -> None:
    passed = _breaches(ward, 241)

    assert ("e1", ClockName.FINISH, at(240), ClockState.OVERDUE) in passed


def test_a_breach_of_a_unit_off_the_board_that_no_tick_has_noticed_is_one(
    charting: Charting,
) -> None:
    charting.run()
    charting.observe(25)
    charting.record(60, Completed())
    charting.record(61, FateRecorded(Fate.TRANSFUSED))

    assert _breaches(charting, 60 + 25 * 60) == [
        ("e1", ClockName.END_CHECK, at(120), ClockState.MISSED)
    ]


@pytest.mark.parametrize(
    ("from_at", "until", "count"),
    [(at(30), at(31), 3), (at(29), at(30), 0), (at(30, 1), at(60), 0), (at(0), at(30, 1), 3)],
)
def test_a_period_holds_its_first_second_and_not_its_last(
    ward: Charting, from_at: Any, until: Any, count: int
) -> None:
    assert len(_breaches(ward, 35, Period(from_at, until))) == count


def test_breaches_of_one_clock(ward: Charting) -> None:
    assert _breaches(ward, 35, wanted=Wanted(clock=ClockName.START)) == [
        ("e1", ClockName.START, at(30), ClockState.OVERDUE)
    ]


@ON_BOTH_ENGINES
def test_breaches_that_had_happened_and_were_known_then(ward: Charting) -> None:
    ward.start("e1", minute=36)

    def start(**asked: Any) -> list[ClockState]:
        return [
            state
            for *_, state in _breaches(ward, 60, wanted=Wanted(clock=ClockName.START), **asked)
        ]

    assert (start(), start(at=at(36))) == ([ClockState.MET_LATE], [ClockState.MET_LATE])
    assert (start(at=at(35)), start(at=at(30))) == ([ClockState.OVERDUE], [])
    assert start(known_at=at(35)) == [ClockState.OVERDUE]


def test_a_breach_carries_the_cause_that_was_given(ward: Charting) -> None:
    ward.record(36, CauseGiven(ClockName.START, "porter late", "lift broken"), "e1", actor=MANAGER)

    with ward.store.read() as session:
        rows = list_breaches(
            session, MANAGER, "w1", now=at(40), wanted=Wanted(clock=ClockName.START)
        )

    assert [(row.breach.cause, row.breach.cause_text) for row in rows] == [
        ("porter late", "lift broken")
    ]
    assert [row.breach.late_minutes for row in rows] == [10]


@ON_BOTH_ENGINES
def test_reminders_since_an_instant(ward: Charting) -> None:
    ward.tick(36)
    ward.tick(at(35) + timedelta(minutes=5))

    def raised(since: float | None) -> set[Any]:
        with ward.store.read() as session:
            asked = None if since is None else at(since)
            return {one.raised_at for one in list_reminders(session, NURSE, "w1", since=asked)}

    assert (raised(None), raised(36), raised(40)) == ({at(35), at(40)}, {at(40)}, {at(40)})


@pytest.mark.parametrize("units", [1, 3])
@pytest.mark.parametrize(("name", "queries"), [("due", 10), ("breaches", 12), ("reminders", 2)])
def test_a_list_over_one_unit_takes_as_many_queries_as_over_three(
    charting: Charting, name: str, queries: int, units: int
) -> None:
    for number in range(units):
        charting.run(f"e{number}", f"p{1 + number % 2}")
    charting.tick(36)

    with charting.store.read() as session, counted_queries(charting.store) as sent:
        listed = LISTS[name](session, NURSE, "w1", now=at(36))

    assert (len(listed) >= units, len(sent)) == (True, queries)
