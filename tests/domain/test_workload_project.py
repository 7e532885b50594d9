"""The work still ahead of a live unit: which tasks, when, in which windows, and what is left out.

Lengths are those of the common policy: check and start 15 min, second person 7, a set 5, taking
down 10, for which an empty bag may hang for 10. Windows are those of the clocks: first check 10,
15, 20 min after the start, running checks 60 min after the set before, 15 early and 15 late, end
set from the end to 60 min after it.
"""

from datetime import datetime, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from server.domain.clock import OWED
from server.domain.cover import Cover
from server.domain.payloads import (
    Completed,
    FateRecorded,
    Issued,
    Paused,
    RateSet,
    ReactionSuspected,
    Returned,
)
from server.domain.picture import Case, picture
from server.domain.words import ClockName, ClockState, Fate
from server.domain.workload.period import Period
from server.domain.workload.project import WORK_OF, project, project_ward
from server.domain.workload.projection import LeftOut, NotKnown, Projection
from server.domain.workload.task import Work
from tests.domain.builders import FULL, at, case, look, running, with_policy
from tests.domain.episodes import cases
from tests.domain.projected import AFTER_THE_END, DAY, ahead, rows
from tests.domain.working import TERMS, period, task

ASKED = {ClockState.DUE, ClockState.OVERDUE}
SLOW = running(RATED := (25, RateSet(100)), nurse_id="nurse-1")
"""280 mL from 10:10: 15 mL by 10:25, then 265 mL at 100 mL/h are 159 min: in at 13:04."""


def test_a_running_unit_owes_its_watch_its_checks_the_end_and_the_end_set() -> None:
    assert rows(ahead(SLOW, 26).tasks) == [
        ("first_check", 1, 26, 26, 30, 5),
        ("running_check", 1, 86, 71, 101, 5),
        ("running_check", 2, 146, 131, 161, 5),
        ("finish", 1, 184, 184, 194, 10),
        ("end_check", 1, 199, 184, 244, 5),
    ]


def test_what_is_left_of_the_watched_beginning_is_locked() -> None:
    """At 60 mL/h until 10:25, then 265 mL at the permitted 300 mL/h: 53 min, in at 11:18."""
    tasks = ahead(running(), 12).tasks

    assert rows(tasks) == [
        ("watch", 1, 12, 12, 12, 13),
        ("first_check", 1, 25, 20, 30, 5),
        ("finish", 1, 78, 78, 88, 10),
        ("end_check", 1, 93, 78, 138, 5),
    ]
    assert tasks[0].is_locked
    assert next(one.work for one in ahead(running(), 25).tasks) is Work.FIRST_CHECK


def test_a_set_taken_moves_the_checks_after_it() -> None:
    taken = running(RATED, (28, FULL))

    assert rows(ahead(taken, 30).tasks)[:2] == [
        ("running_check", 1, 88, 73, 103, 5),
        ("running_check", 2, 148, 133, 163, 5),
    ]


@pytest.mark.parametrize(
    ("second", "latest"), [(0, at(30)), (1, at(30)), (5 * 60, at(30)), (5 * 60 + 1, at(30, 1))]
)
def test_a_check_that_is_late_is_expected_at_once(second: int, latest: datetime) -> None:
    now = at(25, second)
    first = project(look(running(), now), TERMS, DAY).tasks[0]

    assert (first.work, first.at, first.latest) == (Work.FIRST_CHECK, now, latest)


def test_a_running_check_that_is_due_after_the_end_is_not_owed() -> None:
    """The end at 11:25 exactly: the check that would be due then lapses."""
    exact = running((25, RateSet(265)), (25, FULL))

    assert rows(ahead(exact, 26).tasks) == [
        ("finish", 1, 85, 85, 95, 10),
        ("end_check", 1, 100, 85, 145, 5),
    ]


def test_a_unit_is_down_by_its_finish_limit_whatever_its_rate() -> None:
    trickle = running((25, RateSet(10)))

    assert rows(ahead(trickle, 200).tasks)[-2:] == [
        ("finish", 1, 240, 240, 240, 10),
        ("end_check", 1, 255, 240, 300, 5),
    ]


@pytest.mark.parametrize(("rate", "latest"), [(80, 233.75), (77, 240)])
def test_an_empty_bag_hangs_no_longer_than_its_finish_limit(rate: float, latest: float) -> None:
    """265 mL from 10:25: at 80 mL/h in at 13:43:45, at 77 mL/h in the last ten minutes."""
    finish = rows(ahead(running((25, RateSet(rate)), (26, FULL)), 27).tasks)[-2]

    assert (finish[0], finish[4]) == ("finish", latest)


def test_past_the_finish_limit_it_is_taken_down_at_once() -> None:
    trickle = running((25, RateSet(10)), (230, FULL))

    assert rows(ahead(trickle, 250).tasks) == [
        ("finish", 1, 250, 250, 250, 10),
        ("end_check", 1, 265, 250, 310, 5),
    ]


@pytest.mark.parametrize(
    ("unit", "why"),
    [
        (running((25, Paused()), (27, FULL)), NotKnown.PAUSED),
        (running((25, RateSet(0)), (27, FULL)), NotKnown.NO_RATE),
        (running((25, RateSet(100)), (27, FULL), volume_ml=None), NotKnown.NO_VOLUME),
    ],
)
def test_without_a_known_end_the_checks_go_on_to_the_finish_limit(
    unit: Case, why: NotKnown
) -> None:
    found = ahead(unit, 30)

    assert rows(found.tasks) == [
        ("running_check", 1, 87, 72, 102, 5),
        ("running_check", 2, 147, 132, 162, 5),
        ("running_check", 3, 207, 192, 222, 5),
    ]
    assert found.left_out == (LeftOut("episode-1", "4", why, AFTER_THE_END),)


def test_without_a_finish_limit_the_checks_go_on_to_the_end_of_the_period() -> None:
    unlimited = with_policy(finish_from=("received",), finish_respect_expiry=False)
    unit = running((25, Paused()), (27, FULL), policy=unlimited)

    assert [one.at for one in ahead(unit, 30, period(0, 330)).tasks] == [
        at(minute) for minute in (87, 147, 207, 267, 327)
    ]


def test_while_a_reaction_is_suspected_its_own_checks_serve_all_others() -> None:
    """Every 15 min, up to 5 late; nothing is said of the end: that is decided at the bedside."""
    unit = running((20, ReactionSuspected(("fever",))))

    found = ahead(unit, 21, period(0, 60))

    assert rows(found.tasks) == [
        ("watch", 1, 21, 21, 21, 4),
        ("reaction_check", 1, 21, 21, 25, 5),
        ("reaction_check", 2, 36, 36, 41, 5),
        ("reaction_check", 3, 51, 51, 56, 5),
    ]
    assert found.left_out == (LeftOut("episode-1", "4", NotKnown.REACTION, AFTER_THE_END),)


def test_an_ended_unit_owes_its_end_set_until_it_is_taken() -> None:
    ended = running((25, FULL), (90, Completed()))

    assert rows(ahead(ended, 92).tasks) == [("end_check", 1, 105, 92, 150, 5)]
    assert ahead(running((25, FULL), (90, Completed()), (92, FULL)), 93) == Projection()


def test_after_the_end_the_checks_of_a_reaction_meet_the_end_set() -> None:
    unit = running((25, FULL), (90, Completed()), (95, ReactionSuspected(("rash",))))

    assert [one.work for one in ahead(unit, 96, period(0, 130)).tasks] == [
        Work.REACTION_CHECK,
        Work.REACTION_CHECK,
        Work.REACTION_CHECK,
    ]
    assert ahead(unit, 96).left_out == ()


def test_a_suspicion_with_a_unit_that_was_sent_back_still_asks_for_its_checks() -> None:
    facts = (Returned(), FateRecorded(Fate.DISCARDED), ReactionSuspected(("fever",)))
    sent_back = case((0, Issued()), *((12, fact) for fact in facts))

    assert rows(ahead(sent_back, 13, period(0, 30)).tasks) == [
        ("reaction_check", 1, 13, 13, 17, 5),
        ("reaction_check", 2, 28, 28, 33, 5),
    ]


def test_a_task_is_its_nurse_s_or_whoever_s_who_covers_at_its_instant() -> None:
    cover = Cover("c1", "ward-1", "nurse-2", "nurse-1", at(80), at(146), at(0), "charge-1")

    named = [(one.staff_id, one.at) for one in ahead(SLOW, 26, covers=(cover,)).tasks]

    assert named == [
        ("nurse-1", at(26)),
        ("nurse-2", at(86)),
        ("nurse-1", at(146)),
        ("nurse-1", at(184)),
        ("nurse-1", at(199)),
    ]


def test_tasks_are_cut_to_the_asked_period() -> None:
    """One that reaches into it counts; its end is not part of it."""
    assert rows(ahead(SLOW, 26, period(90, 146)).tasks) == [("running_check", 1, 86, 71, 101, 5)]
    assert ahead(SLOW, 26, period(91, 146)).tasks == ()


def test_a_ward_is_the_units_together_in_the_order_of_time() -> None:
    other = running((25, Paused()), (27, FULL), id="episode-2", bed="7")
    pictures = [look(other, at(30)), look(SLOW, at(30))]

    found = project_ward(pictures, TERMS, period(30, 100))

    assert found.tasks == (
        task(Work.FIRST_CHECK, 30, window=(30, 30)),
        task(Work.RUNNING_CHECK, 87, window=(72, 102), unit="episode-2", bed="7", staff=None),
        task(Work.RUNNING_CHECK, 90, window=(75, 105)),
    )
    assert found.left_out == (LeftOut("episode-2", "7", NotKnown.PAUSED, AFTER_THE_END),)


@given(cases(), st.integers(0, 20_000))
@settings(max_examples=150)
def test_tasks_lie_in_their_windows_and_no_owed_check_is_lost(unit: Case, second: int) -> None:
    now = at(0, second)
    seen = picture(unit.known(at=now), now)
    horizon = Period(now, now + timedelta(days=3))

    found = project(seen, TERMS, horizon)

    assert all(one.earliest <= one.at <= one.latest and one.at >= now for one in found.tasks)
    assert len({(one.work, one.n) for one in found.tasks}) == len(found.tasks)
    ends_now = any(one.work is Work.FINISH and one.at == now for one in found.tasks)
    asked = {clock.name for clock, state in seen.clocks if state in ASKED and clock.name in WORK_OF}
    if asked and not ends_now:
        assert any(one.work in WORK_OF.values() and one.at == now for one in found.tasks)
    owed = {clock.name for clock, state in seen.clocks if state in OWED and clock.name in WORK_OF}
    if owed == {ClockName.END_CHECK}:
        assert [one.work for one in found.tasks] == [Work.END_CHECK]
