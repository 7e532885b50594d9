"""The tick: what time alone changes, noticed once, whoever notices it and however late."""

from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from threading import Barrier

import pytest

from server.domain.payloads import Completed, FateRecorded
from server.domain.words import ClockName, ClockState, Fate, Level, Stage
from server.services.tick import HEARTBEAT, Ticked, tick
from server.store.heartbeat import Beat, last_beat
from server.store.sessions import Change
from server.store.store import Store
from server.store.transitions import Transition
from tests.domain.builders import at
from tests.services.charting import Charting, stages
from tests.services.engines import ON_BOTH_ENGINES
from tests.services.random_files import fresh_stores
from tests.store.facts import counted_queries

HOUR = [
    ("notice", 0, at(20)),
    ("due", 0, at(30)),
    ("overdue", 0, at(30)),
    ("overdue", 1, at(35)),
    ("escalate", 0, at(35)),
    ("overdue", 2, at(40)),
    ("overdue", 3, at(45)),
    ("second_escalate", 0, at(45)),
    ("overdue", 4, at(50)),
    ("overdue", 5, at(55)),
    ("overdue", 6, at(60)),
]


@pytest.fixture
def issued(charting: Charting) -> Charting:
    """Unit `e1`, issued at the base: its start is due at 30 min."""
    charting.open()
    charting.issue()
    return charting


def _start(charting: Charting) -> list[tuple[str, int, object]]:
    return sorted(stages(charting.reminders(clock=ClockName.START)))


@ON_BOTH_ENGINES
def test_a_boundary_is_crossed_at_its_second_and_not_before(issued: Charting) -> None:
    boundary = at(30) + timedelta(seconds=1)
    seen = []
    for now in (boundary - timedelta(seconds=1), boundary):
        issued.tick(now)
        seen.append((issued.clock_states()["start:1"], issued.state().level))

    assert seen == [(ClockState.DUE, Level.DUE), (ClockState.OVERDUE, Level.OVERDUE)]
    assert issued.transitions()[-2:] == tuple(
        Transition("e1", name, 1, ClockState.DUE, ClockState.OVERDUE, at(30), boundary)
        for name in (ClockName.START, ClockName.RETURN)
    )


@ON_BOTH_ENGINES
def test_it_says_what_it_did_and_when_it_did_it(issued: Charting) -> None:
    first, second = issued.tick(20), issued.tick(21)

    with issued.store.read() as session:
        beat = last_beat(session, HEARTBEAT)
    assert (first, second) == (Ticked(1, 2, 0), Ticked(0, 0, 0))
    assert beat == Beat("tick", at(21))
    assert [issued.board(21, ward_id=ward).checked_at for ward in ("w1", "w2")] == [at(21)] * 2


def test_nothing_is_written_where_nothing_changed(issued: Charting) -> None:
    issued.tick(21)
    before = issued.everything("heartbeat", "ward")
    heard: list[tuple[Change, ...]] = []
    issued.store.on_commit(heard.append)

    issued.tick_each(1, 21, at(21, 30))

    assert (issued.everything("heartbeat", "ward"), heard) == (before, [])


def test_a_tick_of_nothing_takes_three_statements(issued: Charting) -> None:
    for number in range(3):
        issued.open(f"more-{number}")

    with counted_queries(issued.store) as sent:
        issued.tick(5)

    assert len(sent) <= 3


@pytest.mark.parametrize("units", [1, 3])
def test_a_tick_of_one_or_of_three_units_takes_as_many_queries(
    charting: Charting, units: int
) -> None:
    for number in range(units):
        charting.open(f"e{number}")
        charting.issue(f"e{number}")

    with counted_queries(charting.store) as sent:
        ticked = charting.tick(20)

    assert (ticked, len(sent)) == (Ticked(units, 2 * units, 0), QUERIES)


QUERIES = 18


def test_a_stage_is_raised_once_however_often_one_looks(issued: Charting) -> None:
    issued.tick_each(20, 0, 60)

    assert _start(issued) == sorted(HOUR)


@ON_BOTH_ENGINES
def test_after_an_hour_of_sleep_the_same_is_raised_with_the_same_stamps(issued: Charting) -> None:
    issued.tick(60)

    assert _start(issued) == sorted(HOUR)
    assert {one.raised_at for one in issued.reminders()} == {at(60)}


def test_a_tick_each_second_and_one_after_the_gap_come_to_the_same(
    sqlite_wards: Path, tmp_path: Path
) -> None:
    with (
        fresh_stores(sqlite_wards, tmp_path / "awake.db") as (awake,),
        fresh_stores(sqlite_wards, tmp_path / "asleep.db") as (asleep,),
    ):
        charted = Charting(awake), Charting(asleep)
        for charting in charted:
            charting.run()
            charting.open("e2", "p2")
            charting.issue("e2", minute=10)

        charted[0].tick_each(1, at(24, 30), at(42))
        charted[1].tick(at(42))

        assert _timeless(charted[0]) == _timeless(charted[1])


def _timeless(charting: Charting) -> tuple[object, ...]:
    """All that is derived, whenever it was noticed."""
    crossed = [
        replace(one, noticed_at=one.at)
        for episode_id in ("e1", "e2")
        for one in charting.transitions(episode_id)
    ]
    raised = [replace(one, id="", raised_at=one.owed_at) for one in charting.reminders()]
    return (
        sorted(crossed, key=repr),
        sorted(raised, key=repr),
        [charting.state(one) for one in ("e1", "e2")],
        [charting.clocks(one) for one in ("e1", "e2")],
    )


def test_a_stage_of_a_clock_that_was_met_meanwhile_is_not_raised(issued: Charting) -> None:
    issued.start(minute=25)

    issued.tick(60)

    assert _start(issued) == [("notice", 0, at(20))]


@ON_BOTH_ENGINES
def test_two_ticks_at_once_do_no_harm(charting: Charting) -> None:
    for number in range(4):
        charting.open(f"e{number}")
        charting.issue(f"e{number}")
    other = Store(charting.store.address)
    begin = Barrier(4)

    def run(store: Store) -> Ticked:
        begin.wait()
        return tick(store, now=at(36))

    with ThreadPoolExecutor(4) as pool:
        done = list(pool.map(run, (charting.store, other) * 2))
    other.close()

    raised = charting.reminders()
    assert (sum(one.episodes for one in done), sum(one.faults for one in done)) == (4, 0)
    assert sum(one.reminders for one in done) == len(raised) == 4 * 2 * 5
    assert len(charting.transitions("e0")) == len(charting.transitions("e3"))
    assert charting.rebuild(36).differed == ()


def test_a_closed_unit_is_looked_at_until_its_watch_is_over(charting: Charting) -> None:
    charting.run()
    charting.observe(25)
    charting.record(60, Completed())
    charting.observe(65)
    charting.record(66, FateRecorded(Fate.TRANSFUSED))
    watch_ends = at(60) + timedelta(hours=24)

    quiet = charting.tick(watch_ends)
    last = charting.tick(watch_ends + timedelta(seconds=1))

    assert (quiet.reminders, last) == (0, Ticked(1, 0, 0))
    assert charting.state().next_change_at is None
    assert charting.clock_states()["late_watch:1"] is ClockState.LAPSED


def test_repeats_end_after_a_day(issued: Charting) -> None:
    issued.tick(at(30) + timedelta(hours=48))

    start = issued.reminders(clock=ClockName.START)
    repeats = [one.repeat for one in start if one.stage is Stage.OVERDUE]
    assert max(repeats) == 24 * 60 / 5


def test_what_is_due_is_worked_out_in_batches(charting: Charting) -> None:
    for number in range(52):
        charting.open(f"e{number}")
        charting.issue(f"e{number}")

    assert charting.tick(20) == Ticked(52, 104, 0)


def test_what_is_left_over_is_worked_out_by_the_next_tick(
    charting: Charting, monkeypatch: pytest.MonkeyPatch
) -> None:
    for number in range(52):
        charting.open(f"e{number}")
        charting.issue(f"e{number}")
    monkeypatch.setattr("server.services.tick.MOST_BATCHES", 1)

    first, checked = charting.tick(20), charting.board(20).checked_at
    then = charting.tick(at(20, 1))

    assert (first, checked) == (Ticked(50, 100, 0), None)
    assert (then, charting.board(21).checked_at) == (Ticked(2, 4, 0), at(20, 1))


@ON_BOTH_ENGINES
def test_a_clock_that_was_put_back_has_everything_looked_at_again(
    issued: Charting, caplog: pytest.LogCaptureFixture
) -> None:
    issued.tick(20)
    before, raised = issued.clock_states(), len(issued.reminders())
    issued.tick(20 + 24 * 60)
    a_day_on, told = issued.clock_states(), len(issued.reminders())

    back, after = issued.tick(20), issued.tick(21)

    assert (before == a_day_on, raised < told) == (False, True)
    assert (back, after) == (Ticked(1, 0, 0), Ticked(0, 0, 0))
    assert issued.clock_states() == before
    assert caplog.messages == [
        "the clock was put back by more than a minute: all units are looked at anew"
    ]
    assert issued.rebuild(21).differed == ()
