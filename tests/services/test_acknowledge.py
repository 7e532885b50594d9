"""Somebody says "I have it": reminders know, and the clock is not met by it."""

import pytest

from server.domain.payloads import Acknowledged, Voided
from server.domain.words import ClockName, ClockState, Stage
from server.store.reminders import RaisedReminder
from tests.domain.builders import at
from tests.services.charting import Charting
from tests.services.engines import ON_BOTH_ENGINES

I_HAVE_IT = Acknowledged(ClockName.START, "nurse-2")


@pytest.fixture
def unstarted(charting: Charting) -> Charting:
    """Unit `e1` issued at the base, its start due at 30 min; ticked until 32 min."""
    charting.open()
    charting.issue()
    charting.tick_each(60, 20, 32)
    return charting


def _marks(charting: Charting, clock: ClockName) -> set[tuple[object, ...]]:
    return {
        (one.stage, one.acknowledged_at, one.acknowledged_by)
        for one in charting.reminders(clock=clock)
    }


@ON_BOTH_ENGINES
def test_it_is_noted_on_every_reminder_of_the_clock(unstarted: Charting) -> None:
    unstarted.record(33, I_HAVE_IT)

    assert _marks(unstarted, ClockName.START) == {
        (Stage.NOTICE, at(33), "nurse-2"),
        (Stage.DUE, at(33), "nurse-2"),
        (Stage.OVERDUE, at(33), "nurse-2"),
    }
    assert {one.acknowledged_by for one in unstarted.reminders(clock=ClockName.RETURN)} == {None}


def test_it_never_meets_the_clock(unstarted: Charting) -> None:
    unstarted.record(33, I_HAVE_IT)

    assert unstarted.clock_states()["start:1"] is ClockState.OVERDUE


def test_it_ends_repeats_and_escalations(unstarted: Charting) -> None:
    unstarted.record(33, I_HAVE_IT)

    unstarted.tick_each(60, 34, 60)

    assert len(unstarted.reminders(clock=ClockName.START)) == 3
    assert len(unstarted.reminders(clock=ClockName.RETURN)) == 3 + 6 + 2


def test_what_is_raised_after_it_carries_it(charting: Charting) -> None:
    charting.open()
    charting.issue()
    charting.record(15, I_HAVE_IT)

    charting.tick_each(60, 16, 32)

    assert _marks(charting, ClockName.START) == {
        (Stage.NOTICE, at(15), "nurse-2"),
        (Stage.DUE, at(15), "nurse-2"),
        (Stage.OVERDUE, at(15), "nurse-2"),
    }


def test_the_first_who_has_it_is_named(unstarted: Charting) -> None:
    unstarted.record(33, I_HAVE_IT)
    unstarted.record(34, Acknowledged(ClockName.START, "nurse-1"))

    assert {one.acknowledged_by for one in unstarted.reminders(clock=ClockName.START)} == {
        "nurse-2"
    }


@ON_BOTH_ENGINES
def test_a_voided_one_counts_as_never_having_been(unstarted: Charting) -> None:
    given = unstarted.record(33, I_HAVE_IT)

    unstarted.record(36, Voided(given.event_id, "other bed"))

    assert {one.acknowledged_at for one in unstarted.reminders(clock=ClockName.START)} == {None}
    assert _stages(unstarted) == {Stage.NOTICE, Stage.DUE, Stage.OVERDUE, Stage.ESCALATE}


def test_of_two_the_other_one_stands_when_one_is_voided(unstarted: Charting) -> None:
    given = unstarted.record(33, I_HAVE_IT)
    unstarted.record(34, Acknowledged(ClockName.START, "nurse-1"))

    unstarted.record(35, Voided(given.event_id, "other bed"))

    assert _marks(unstarted, ClockName.START) == {
        (stage, at(34), "nurse-1") for stage in (Stage.NOTICE, Stage.DUE, Stage.OVERDUE)
    }


def test_a_check_that_rolls_on_needs_another(charting: Charting) -> None:
    charting.run()
    charting.observe(25)
    charting.tick_each(60, 25, 90)
    charting.record(91, Acknowledged(ClockName.RUNNING_CHECK, "nurse-2"))
    charting.observe(92)

    charting.tick_each(60, 93, 150)

    (first, *_, last) = charting.reminders(clock=ClockName.RUNNING_CHECK)
    assert (first.n, first.acknowledged_by) == (1, "nurse-2")
    assert (last.n, last.acknowledged_by) == (2, None)


def _stages(charting: Charting) -> set[Stage]:
    raised: tuple[RaisedReminder, ...] = charting.reminders(clock=ClockName.START)
    return {one.stage for one in raised}
