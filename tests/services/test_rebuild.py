"""Every derived row is worked out anew from the facts, and what differed is counted and mended."""

from datetime import timedelta

import pytest
from sqlalchemy import text

from server.domain.payloads import Completed, FateRecorded
from server.domain.words import ClockName, Fate
from server.services.rebuild import Rebuilt, rebuild
from tests.domain.builders import at
from tests.services.charting import Charting
from tests.services.engines import ON_BOTH_ENGINES

ADDED = (
    "INSERT INTO clock_state (episode_id, clock, n, ward_id, state) "
    "VALUES ('e1', 'running_check', 9, 'w1', 'open')"
)
TAMPERING = (
    *(
        f"UPDATE episode_state SET {setting} WHERE episode_id = 'e1'"  # noqa: S608 - our own
        for setting in (
            "phase = 'ended'",
            "level = 'steady'",
            "revision = revision + 1",
            "bed = '99'",
            "nurse_id = 'nobody'",
            "component = NULL",
            "priority = 'urgent'",
            "removed_at = NULL",
            "reassessed_at = '2026-03-03T10:00:00Z'",
            "fate = 'returned'",
            "fate_at = '2026-03-03T10:00:00Z'",
            "first_at = NULL",
            "open_until = '2026-03-03T10:00:00Z'",
            "next_change_at = NULL",
            "next_change_at = '2026-03-04T10:00:00Z'",
            "started_at = NULL",
            "issued_at = '2026-03-03T09:00:00Z'",
            "ended_at = '2026-03-03T10:12:00Z'",
            "last_recorded_at = '2026-03-03T09:00:00Z'",
            "recorded_at = '2026-03-03T09:59:00Z'",
            "states = '{}'",
            "fault = 'something'",
        )
    ),
    *(
        f"UPDATE clock_state SET {setting} WHERE episode_id = 'e1' AND clock = 'finish'"  # noqa: S608 - our own
        for setting in (
            "n = 7",
            "opens_at = NULL",
            "due_at = NULL",
            "limit_at = '2026-03-03T15:00:00Z'",
            "met_at = '2026-03-03T10:12:00Z'",
            "state = 'met'",
            "breached_at = '2026-03-03T14:00:00Z'",
            "component = NULL",
            "nurse_id = 'nobody'",
            "cause = 'porter late'",
            "ward_id = 'w2'",
        )
    ),
    "DELETE FROM clock_state WHERE episode_id = 'e1' AND clock = 'finish'",
    "DELETE FROM clock_state WHERE episode_id = 'e1'",
    "DELETE FROM episode_state WHERE episode_id = 'e1'",
    ADDED,
)


def chart(charting: Charting) -> None:
    """Three units at 31 min: `e1` and `e2` started at 10 min, `e3` not yet issued."""
    charting.run("e1", "p1")
    charting.run("e2", "p2")
    charting.open("e3", "p2")
    charting.tick(31)


def _run(charting: Charting, statement: str) -> None:
    with charting.store.write() as session:
        session.run(text(statement))


@ON_BOTH_ENGINES
def test_on_a_healthy_system_nothing_differs_and_nothing_is_written(ward: Charting) -> None:
    before = ward.everything()

    assert ward.rebuild(31) == Rebuilt(3, ())
    assert ward.everything() == before


@pytest.mark.parametrize("tampering", TAMPERING)
def test_whatever_was_tampered_with_is_found_and_mended(ward: Charting, tampering: str) -> None:
    before = ward.everything("ward", "episode_state")
    stood = [ward.state(one) for one in ("e1", "e2", "e3")]
    _run(ward, tampering)

    rebuilt = ward.rebuild(31)

    assert rebuilt == Rebuilt(3, ("e1",))
    assert ward.everything("ward", "episode_state") == before
    assert [ward.state(one) for one in ("e1", "e2", "e3")] == stood
    assert ward.rebuild(31).differed == ()


def test_a_board_that_runs_meanwhile_is_no_difference(
    ward: Charting, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A tick in between works units out as of a later instant than the rebuild began at."""
    monkeypatch.setattr("server.services.rebuild.BATCH", 1)
    minute = 31

    def ticking(_: int) -> None:
        nonlocal minute
        minute += 60
        ward.tick(minute)

    found = rebuild(ward.store, lambda: at(minute), progress=ticking)

    assert found == Rebuilt(3, ())


@ON_BOTH_ENGINES
def test_everything_derived_can_be_lost(ward: Charting) -> None:
    before = ward.everything("ward", "episode_state")
    stood = [ward.state(one) for one in ("e1", "e2", "e3")]
    for table in ("episode_state", "clock_state"):
        _run(ward, f"DELETE FROM {table}")  # noqa: S608 - one of two names

    assert ward.rebuild(31) == Rebuilt(3, ("e1", "e2", "e3"))
    assert ward.everything("ward", "episode_state") == before
    assert [ward.state(one) for one in ("e1", "e2", "e3")] == stood


def test_a_unit_that_was_mended_is_told_as_changed(ward: Charting) -> None:
    revision = ward.board(31).revision
    _run(ward, TAMPERING[0])

    ward.rebuild(31)

    assert ward.board(31).revision == revision + 1


def test_a_next_change_set_too_early_is_found_and_reached_again_by_the_tick(
    ward: Charting,
) -> None:
    stood = ward.state("e1")
    _run(ward, "UPDATE episode_state SET next_change_at = '2026-03-03T10:29:00Z'")

    rebuilt = ward.rebuild(31)
    ward.tick(31)

    assert (rebuilt.differed, ward.state("e1")) == (("e1", "e2", "e3"), stood)
    assert ward.rebuild(31).differed == ()


def test_what_time_alone_has_changed_is_left_to_the_tick(ward: Charting) -> None:
    """Rebuilt after an hour without ticks: nothing differs, and no reminder is lost."""
    assert ward.rebuild(91) == Rebuilt(3, ())

    ward.tick(91)

    raised = ward.reminders(clock=ClockName.FIRST_CHECK)
    assert {one.owed_at for one in raised if one.episode_id == "e1" and one.repeat == 0} == {
        at(15),
        at(25),
        at(30),
        at(35),
        at(45),
    }


def test_a_unit_that_is_over_is_compared_as_it_is_now(charting: Charting) -> None:
    charting.run()
    charting.record(60, Completed())
    charting.record(61, FateRecorded(Fate.TRANSFUSED))
    charting.tick(at(60) + timedelta(hours=24, seconds=1))

    assert charting.state().next_change_at is None
    assert charting.rebuild(at(60) + timedelta(days=400)) == Rebuilt(1, ())


def test_an_empty_system_has_nothing_to_rebuild(charting: Charting) -> None:
    assert charting.rebuild(0) == Rebuilt(0, ())


def test_many_units_are_worked_out_batch_by_batch(charting: Charting) -> None:
    for number in range(201):
        charting.open(f"e{number:03}")
    told: list[int] = []

    rebuilt = rebuild(charting.store, lambda: at(0), progress=told.append)

    assert (rebuilt, told) == (Rebuilt(201, ()), [200, 201])
