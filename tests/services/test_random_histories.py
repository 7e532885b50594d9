"""Whatever a shift brings: nothing to rebuild after it, and every screen of it shown again."""

from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from hypothesis import given, settings

from server.services.read_board import Board
from server.store.due import earliest_change
from server.store.states import read_states
from server.store.store import Store
from server.store.transitions import Transition
from tests.databases import PostgresServer
from tests.services.charting import Charting
from tests.services.random_files import filled, fresh_stores
from tests.services.random_shift import EVERYTHING, ON_RECORD, UNITS, Shift, Step, steps

IDS = tuple(unit[0] for unit in UNITS)


@settings(max_examples=12)
@given(played=steps(EVERYTHING))
def test_a_healthy_system_has_nothing_to_rebuild(
    sqlite_wards: Path, tmp_path_factory: Any, played: list[Step]
) -> None:
    file = tmp_path_factory.mktemp("rebuilt") / "wards.db"
    with fresh_stores(sqlite_wards, file) as (store,):
        _has_nothing_to_rebuild(store, played)


@settings(max_examples=4)
@given(played=steps(EVERYTHING))
def test_nor_has_one_on_postgresql(
    sqlite_wards: Path, postgres: PostgresServer, played: list[Step]
) -> None:
    store = Store(filled(postgres, sqlite_wards))
    try:
        _has_nothing_to_rebuild(store, played)
    finally:
        store.close()


def _has_nothing_to_rebuild(store: Store, played: list[Step]) -> None:
    charting = Charting(store)
    shift = Shift(charting).begin()
    for step in played:
        shift.play(step)
    before = charting.everything()

    rebuilt = charting.rebuild(shift.now)

    assert (rebuilt.episodes, rebuilt.differed) == (4, ())
    assert charting.everything() == before


@settings(max_examples=12)
@given(played=steps((*ON_RECORD, "ahead", "change patient")))
def test_every_board_that_was_shown_is_shown_again(
    sqlite_wards: Path, tmp_path_factory: Any, played: list[Step]
) -> None:
    file = tmp_path_factory.mktemp("replayed") / "wards.db"
    with fresh_stores(sqlite_wards, file) as (store,):
        charting = Charting(store)
        shift = Shift(charting).begin()
        shown: dict[datetime, dict[str, Any]] = {}
        for step in played:
            shift.play(step)
            shown[shift.now] = _rows(charting.board(shift.now))

        later = shift.now + timedelta(days=2)
        replayed = {now: _rows(charting.board(later, at=now, known_at=now)) for now in shown}

        assert replayed == shown


@settings(max_examples=5)
@given(played=steps(ON_RECORD, most=12, longest=1_800))
def test_a_job_that_slept_between_the_facts_notices_the_same_crossings(
    sqlite_wards: Path, tmp_path_factory: Any, played: list[Step]
) -> None:
    folder = tmp_path_factory.mktemp("slept")
    with (
        fresh_stores(sqlite_wards, folder / "awake.db") as (awake_store,),
        fresh_stores(sqlite_wards, folder / "asleep.db") as (asleep_store,),
    ):
        awake, asleep = Charting(awake_store), Charting(asleep_store)
        shifts = Shift(awake).begin(), Shift(asleep).begin()
        for step in played:
            _tick_whenever_due(awake, shifts[0].now + timedelta(seconds=step.seconds))
            for shift in shifts:
                shift.play(step)
        later = shifts[0].now + timedelta(hours=1)
        _tick_whenever_due(awake, later)
        asleep.tick(later)

        assert [_crossed(awake, one) for one in IDS] == [_crossed(asleep, one) for one in IDS]
        assert _derived(awake) == _derived(asleep)
        assert _raised(asleep) - _raised(awake) == set()


def _tick_whenever_due(charting: Charting, until: datetime) -> None:
    """What a tick each second comes to: the seconds between would find nothing."""
    while True:
        with charting.store.read() as session:
            due_at = earliest_change(session)
        if due_at is None or due_at > until:
            charting.tick(until)
            return
        charting.tick(due_at)


def _crossed(charting: Charting, episode_id: str) -> list[Transition]:
    """The crossings in the order of their stamps, whenever they were noticed."""
    crossed = [replace(one, noticed_at=one.at) for one in charting.transitions(episode_id)]
    return sorted(crossed, key=lambda one: (one.clock, one.n))


def _derived(charting: Charting) -> Any:
    with charting.store.read() as session:
        return read_states(session, IDS), [charting.clocks(one) for one in IDS]


def _raised(charting: Charting) -> set[tuple[Any, ...]]:
    return {
        (one.episode_id, one.clock, one.n, one.stage, one.repeat, one.owed_at)
        for ward_id in ("w1", "w2")
        for one in charting.reminders(ward_id)
    }


def _rows(board: Board) -> dict[str, Any]:
    return {"rows": board.rows, "counts": board.counts}
