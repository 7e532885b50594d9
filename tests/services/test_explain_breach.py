"""Why a limit was not kept, on a real database: the ward around the unit, the plan, the shifts."""

from datetime import timedelta

import pytest

from server.domain.payloads import Assigned, Completed, Issued, Started
from server.domain.why.explain import Why
from server.domain.why.link import FRAME, Fact
from server.domain.words import ClockName
from server.domain.workload.capacity import WallWindow, WardLimits
from server.services.accept_plan import accept_plan
from server.services.actor import Actor
from server.services.cover import CoverDraft, cover
from server.services.errors import Forbidden, NotFound
from server.services.explain_breach import explain_breach
from server.store.ward_limits import save_limits
from tests.domain.builders import CHECKED, COMMON, FULL, SOUND, at
from tests.services.charting import Charting
from tests.services.engines import ON_BOTH_ENGINES
from tests.services.people import CHARGE, MANAGER, NURSE, OUTSIDE_CHARGE, OUTSIDER
from tests.services.planned_ward import fill_ward, keep_list_plan
from tests.store.facts import counted_queries

LATER = at(600)


MINUTE = timedelta(minutes=1)


def chart(charting: Charting) -> None:
    """Nina has bed 4, begun at 10 min, and `waits` in bed 5, begun 20 min past its limit.

    It was issued when the plan in force wanted it out of storage. A handover lies in its half hour.
    """
    fill_ward(charting)
    plan = keep_list_plan(charting.store, "plan", at(0))
    with charting.store.write() as session:
        accept_plan(session, CHARGE, "plan", now=at(0))
    start = plan.start_of("waits")
    assert start is not None
    assert start.call_at is not None
    issued = start.call_at + COMMON.work_porter - COMMON.work_carried
    wall = [(issued + minutes * MINUTE).time() for minutes in (20, 35)]
    with charting.store.write() as session:
        limits = WardLimits((WallWindow(*wall),))
        save_limits(session, "w1", limits, from_at=at(-600), by="charge-1")
    charting.record(issued, Issued(), "waits")
    charting.record(issued + MINUTE, Assigned("nurse-1"), "waits")
    for payload in (SOUND, CHECKED):
        charting.record(issued + 48 * MINUTE, payload, "waits")
    charting.record(issued + 50 * MINUTE, Started(60), "waits")
    charting.observe(issued + 85 * MINUTE, "p2", FULL)
    charting.record(issued + 200 * MINUTE, Completed(), "waits")


def _why(
    ward: Charting,
    clock: ClockName = ClockName.START,
    n: int = 1,
    *,
    episode_id: str = "waits",
    actor: Actor = MANAGER,
) -> Why:
    with ward.store.read() as session:
        return explain_breach(session, actor, episode_id, clock, n, now=LATER)


def _reasons(found: Why) -> list[tuple[Fact, str]]:
    return [(link.fact, link.words) for link in found.chain if link.fact not in FRAME]


@ON_BOTH_ENGINES
def test_shifts_plan_handover_and_other_units_tell_why_a_start_was_late(ward: Charting) -> None:
    found = _why(ward)
    episode = found.asked.run.facts.episode
    issued = episode.issued_at
    assert issued is not None

    assert [fact for fact, _ in _reasons(found)] == [
        Fact.NURSE_BUSY,
        Fact.HANDOVER,
        Fact.LATER_THAN_PLANNED,
    ]
    assert [(one.act, one.minutes, one.at) for one in found.avoided] == [
        ("start", 20, issued + 30 * MINUTE),
        ("issue", 20, issued + 20 * MINUTE),
    ]


def test_a_check_is_explained_by_who_answered_for_the_unit(ward: Charting) -> None:
    """First check due 11:10, limit 11:15, taken 11:30; a cover would answer from then on."""
    covered = CoverDraft("w1", "nurse-2", "nurse-1", at(62), at(80))
    with ward.store.write() as session:
        cover(session, CHARGE, covered, now=at(61))

    found = _why(ward, ClockName.FIRST_CHECK)

    assert [(one.act, one.minutes) for one in found.avoided] == [("set", 15)]
    assert _reasons(found) == []


def test_what_is_not_there_is_not_found(ward: Charting) -> None:
    for episode_id, clock, n in (
        ("nothing", ClockName.START, 1),
        ("waits", ClockName.START, 2),
        ("next", ClockName.FINISH, 1),
        ("waits", ClockName.LATE_WATCH, 1),
    ):
        with pytest.raises(NotFound):
            _why(ward, clock, n, episode_id=episode_id)


@pytest.mark.parametrize("actor", [OUTSIDER, OUTSIDE_CHARGE], ids=lambda one: one.id)
def test_nobody_of_another_ward_is_told(ward: Charting, actor: Actor) -> None:
    with pytest.raises(Forbidden):
        _why(ward, actor=actor)
    assert _why(ward, actor=NURSE).says_why


def test_a_unit_without_issue_or_plan_is_asked_no_plan(ward: Charting) -> None:
    found = _why(ward, ClockName.RETURN, episode_id="running")

    assert (found.breach, found.avoided) == (None, ())


@pytest.mark.parametrize("others", [1, 3])
def test_three_units_around_it_cost_as_many_queries_as_one(ward: Charting, others: int) -> None:
    for number in range(others):
        ward.run(f"more-{number}", "p2", bed=f"{20 + number}", nurse_id="nurse-2")

    with counted_queries(ward.store) as sent:
        assert _why(ward).says_why

    assert len(sent) == 26


def test_units_started_long_before_are_not_read(ward: Charting) -> None:
    """What keeps the question small however long the ward has been on the board."""
    ward.open("old", "p2", bed="30", nurse_id="nurse-1", now=-1000)
    ward.record(-600, Issued(), "old", now=0)
    ward.start("old", minute=-590)

    with counted_queries(ward.store) as sent:
        found = _why(ward)

    assert "old" not in str([parameters for _, parameters in sent])
    assert found.says_why
