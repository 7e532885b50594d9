"""Breaches a page at a time, on one ward or several, and what was shown as passed and was kept."""

from datetime import timedelta
from typing import Any

import pytest

from server.domain.breach_list import NO_SHIFT, Wanted
from server.domain.payloads import (
    Assigned,
    CauseGiven,
    Completed,
    FateRecorded,
    Issued,
    Voided,
)
from server.domain.words import ClockName, Component, Fate
from server.services.actor import Actor
from server.services.enter_shift import ShiftDraft, enter_shift
from server.services.errors import Forbidden, NotFound
from server.services.find_breaches import (
    PAGE,
    Asked,
    BreachPage,
    KeptRow,
    Totals,
    find_breaches,
    find_kept,
)
from server.services.history import HistoryEpisode, HistoryObservation
from server.services.import_history import import_history
from server.services.passed_limits import EVER, Period
from tests.domain.builders import FULL, at
from tests.services.charting import Charting, instant
from tests.services.engines import ON_BOTH_ENGINES
from tests.services.people import CHARGE, MANAGER, NURSE, OUTSIDER, PROGRAM
from tests.store.facts import counted_queries

START = ("e1", "start", 1)
RETURN = ("e1", "return", 1)
FIRST = ("e2", "first_check", 1)


def chart(charting: Charting) -> None:
    """`e1` is issued at the base and never started; `e2` runs from 10 min, Cleo's until 30 min.

    Cleo is on duty until half past ten, Nina after that. Ticked at 35 min.
    """
    for nurse, begins, ends in (("nurse-2", -60, 31), ("nurse-1", 31, 600)):
        with charting.store.write() as session:
            draft = ShiftDraft(nurse, "w1", at(begins), at(ends), id=f"s-{nurse}")
            enter_shift(session, CHARGE, draft, now=at(-120))
    charting.open("e1", "p1", bed="1", component=Component.PLATELETS)
    charting.issue("e1")
    charting.run("e2", "p2", bed="2", nurse_id="nurse-2")
    charting.tick(35)
    charting.record(36, Assigned("nurse-1"), "e2")


def found(
    charting: Charting,
    when: float,
    *,
    actor: Actor = MANAGER,
    periods: dict[str, Period] | None = None,
    page: int = 1,
    find: Any = find_breaches,
    **wanted: Any,
) -> BreachPage:
    asked = Asked(periods or {"w1": EVER}, Wanted(**wanted), page)
    with charting.store.read() as session:
        answer: BreachPage = find(session, actor, asked, now=instant(when))
    return answer


def keys(page: BreachPage) -> list[tuple[str, str, int]]:
    return [(row.picture.case.request.id, row.breach.clock, row.breach.n) for row in page.rows]


@ON_BOTH_ENGINES
def test_open_breaches_come_first_and_each_is_counted(ward: Charting) -> None:
    ward.record(37, CauseGiven(ClockName.RETURN, "no porter"), "e1", actor=MANAGER)

    page = found(ward, 40)

    assert keys(page) == [START, FIRST, RETURN]
    assert [row.breach.late_minutes for row in page.rows] == [10, 10, 10]
    assert page.totals == Totals(
        breaches=3,
        units=2,
        still_open=2,
        by_clock={ClockName.START: 1, ClockName.RETURN: 1, ClockName.FIRST_CHECK: 1},
        kept=0,
    )
    assert page.totals.explained == 1
    assert page.shifts == ("09:00-10:31", NO_SHIFT)
    assert (page.page, page.pages, page.kept) == (1, 1, ())


@pytest.mark.parametrize(
    ("wanted", "listed"),
    [
        ({"clock": ClockName.FIRST_CHECK}, [FIRST]),
        ({"component": Component.PLATELETS}, [START, RETURN]),
        ({"shift": "09:00-10:31"}, [FIRST]),
        ({"shift": "10:31-20:00"}, []),
        ({"shift": NO_SHIFT}, [START, RETURN]),
        ({"weekday": 2, "hour": 10, "night": False}, [START, RETURN, FIRST]),
        ({"night": True}, []),
        ({"explained": True}, []),
        ({"explained": False}, [START, RETURN, FIRST]),
    ],
)
def test_breaches_are_narrowed(
    ward: Charting, wanted: dict[str, Any], listed: list[tuple[str, str, int]]
) -> None:
    assert sorted(keys(found(ward, 40, **wanted))) == sorted(listed)


def test_open_and_explained_ones_are_counted_whichever_are_listed(ward: Charting) -> None:
    ward.record(37, CauseGiven(ClockName.RETURN, "no porter"), "e1")

    page = found(ward, 40, explained=True)

    assert keys(page) == [RETURN]
    assert (page.totals.still_open, page.totals.explained) == (2, 1)
    assert page.totals.by_clock == {ClockName.RETURN: 1}


def test_voiding_the_cause_opens_the_breach_again(ward: Charting) -> None:
    given = ward.record(37, CauseGiven(ClockName.RETURN, "no porter"), "e1")
    ward.record(38, Voided(given.event_id, "it was another unit"), "e1")

    assert found(ward, 40, explained=True).rows == ()
    assert found(ward, 40).totals.still_open == 3


@ON_BOTH_ENGINES
def test_what_no_tick_has_looked_at_comes_as_well(ward: Charting) -> None:
    assert ("e1", "finish", 1) in keys(found(ward, 241))
    assert ("e1", "finish", 1) not in keys(found(ward, 240))


def test_a_late_entry_takes_a_breach_off_the_list_and_is_counted_apart(ward: Charting) -> None:
    ward.observe(28, "p2", now=52)

    assert keys(found(ward, 60)) == [START, RETURN] or keys(found(ward, 60)) == [RETURN, START]
    kept = found(ward, 60, find=find_kept)
    row = kept.kept[0]
    assert (kept.totals.kept, kept.rows) == (1, ())
    assert row == KeptRow(row.picture, ClockName.FIRST_CHECK, 1, at(30), at(28), at(52))
    assert row.picture.case.request.id == "e2"


@ON_BOTH_ENGINES
def test_what_was_kept_is_narrowed_as_breaches_are_but_never_explained(ward: Charting) -> None:
    ward.observe(28, "p2", now=52)

    def many(**wanted: Any) -> int:
        return len(found(ward, 60, find=find_kept, **wanted).kept)

    assert [many(), many(explained=True), many(shift="09:00-10:31")] == [1, 1, 1]
    assert [many(clock=ClockName.START), many(shift=NO_SHIFT)] == [0, 0]
    before = {"w1": Period(at(0), at(30))}
    assert found(ward, 60, find=find_kept, periods=before).kept == ()


def test_what_was_taken_back_and_told_again_counts_once(ward: Charting) -> None:
    first = ward.observe(28, "p2", now=52)
    ward.record(53, Voided(first.event_id, "the wrong patient"), "e2")
    ward.observe(29, "p2", now=58)

    (row,) = found(ward, 60, find=find_kept).kept

    assert (row.met_at, row.known_at) == (at(29), at(52))


def test_a_record_from_elsewhere_was_on_no_board(charting: Charting) -> None:
    charting.open("e0", "p1")
    episode = HistoryEpisode(
        line=2,
        episode_id="h1",
        patient_id="p1",
        component=Component.RED_CELLS,
        started_at=at(-3000),
        ended_at=at(-2880),
    )
    early = HistoryObservation(line=2, patient_id="p1", happened_at=at(-3005), observed=FULL)

    import_history(charting.store, PROGRAM, "w1", [episode], now=at(0))
    import_history(charting.store, PROGRAM, "w1", [], [early], now=at(1))

    assert found(charting, 2, find=find_kept).kept == ()
    assert ("h1", "baseline_check", 1) not in keys(found(charting, 2))


def test_many_breaches_come_in_pages(charting: Charting) -> None:
    for number in range(PAGE + 1):
        charting.open(f"e{number:02d}", "p1", component=Component.PLASMA)
        charting.issue(f"e{number:02d}")
    charting.tick(31)

    def listed(page: int) -> tuple[int, int, int]:
        answer = found(charting, 31, page=page, clock=ClockName.START)
        return len(answer.rows), answer.page, answer.pages

    assert [listed(page) for page in (1, 2, 3, 0)] == [
        (PAGE, 1, 2),
        (1, 2, 2),
        (1, 2, 2),
        (PAGE, 1, 2),
    ]


@ON_BOTH_ENGINES
def test_several_wards_are_one_list_each_in_its_own_period(ward: Charting) -> None:
    ward.open("e9", "p9", ward_id="w2")
    ward.record(1, Issued(), "e9", actor=PROGRAM)
    both = {"w1": Period(at(30), at(31)), "w2": Period(at(31), at(32))}

    page = found(ward, 40, actor=PROGRAM, periods=both)

    assert [one.id for one in page.wards] == ["w1", "w2"]
    assert {unit for unit, *_ in keys(page)} == {"e1", "e2", "e9"}
    cut = both | {"w2": Period(at(30), at(31))}
    assert {unit for unit, *_ in keys(found(ward, 40, actor=PROGRAM, periods=cut))} == {"e1", "e2"}


@pytest.mark.parametrize("find", [find_breaches, find_kept])
def test_nobody_sees_the_breaches_of_another_ward(ward: Charting, find: Any) -> None:
    for periods in ({"w1": EVER}, {"w2": EVER, "w1": EVER}):
        with pytest.raises(Forbidden, match="this is not one of your wards"):
            found(ward, 40, actor=OUTSIDER, periods=periods, find=find)
    assert found(ward, 40, actor=OUTSIDER, periods={"w2": EVER}, find=find).totals.units == 0
    with pytest.raises(NotFound):
        found(ward, 40, actor=PROGRAM, periods={"w7": EVER}, find=find)


def test_a_person_without_a_ward_finds_nothing(ward: Charting) -> None:
    asked = Asked({})
    with ward.store.read() as session:
        page = find_breaches(session, NURSE, asked, now=at(40))

    assert (page.rows, page.wards, page.totals.breaches, page.pages) == ((), (), 0, 1)


@pytest.mark.parametrize("units", [1, 3])
def test_a_page_over_one_unit_takes_as_many_queries_as_over_three(
    charting: Charting, units: int
) -> None:
    for number in range(units):
        charting.run(f"e{number}", f"p{1 + number % 2}", nurse_id="nurse-1")
    charting.tick(36)
    charting.observe(28, "p1", now=40)
    charting.tick(130)

    with counted_queries(charting.store) as sent:
        rows = found(charting, 130).rows
        breaches = len(sent)
        kept = found(charting, 130, find=find_kept).kept

    assert (len(rows) >= units, len(kept) >= 1) == (True, True)
    assert (breaches, len(sent) - breaches) == (14, 15)


def test_a_unit_that_is_long_off_the_board_is_listed_from_its_row(charting: Charting) -> None:
    charting.run()
    charting.record(60, Completed())
    charting.record(61, FateRecorded(Fate.TRANSFUSED))
    charting.tick(at(61) + timedelta(days=3))

    assert keys(found(charting, 61 + 5 * 1440)) == [
        ("e1", "end_check", 1),
        ("e1", "first_check", 1),
    ]
