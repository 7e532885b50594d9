"""A fact is recorded on a unit, or refused with nothing stored."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest

from server.domain.errors import Invalid, Refused
from server.domain.events import Event
from server.domain.payloads import (
    Assigned,
    CauseGiven,
    Completed,
    FateRecorded,
    Issued,
    Note,
    Payload,
    Received,
)
from server.domain.words import ClockName, Fate, Kind, Phase
from server.services.actor import Actor
from server.services.errors import Forbidden, NotFound, StaleRevision
from server.store.log import read_event
from tests.domain.builders import CHECKED, FULL, KIND_OF, SOUND, at
from tests.services.charting import START, Charting
from tests.services.engines import ON_BOTH_ENGINES
from tests.services.people import (
    ADMINISTRATOR,
    CHARGE,
    COLLEAGUE,
    MANAGER,
    NURSE,
    OUTSIDE_CHARGE,
    OUTSIDER,
    P2,
    PROGRAM,
    register,
)


@pytest.fixture
def issued(charting: Charting) -> Charting:
    """Unit `e1`, issued at the base."""
    charting.open()
    charting.issue()
    return charting


@ON_BOTH_ENGINES
def test_a_fact_is_in_the_log_as_it_was_told(charting: Charting) -> None:
    charting.open()

    recorded = charting.record(0, Issued(volume_ml=250), now=at(20), actor=CHARGE)

    with charting.store.read() as session:
        logged = read_event(session, recorded.event_id)
    assert logged is not None
    assert (logged.patient_id, logged.ward_id, recorded.revision) == ("p1", "w1", 1)
    assert logged.event == Event(
        id=recorded.event_id,
        kind=Kind.ISSUED,
        happened_at=at(0),
        recorded_at=at(20),
        payload=Issued(volume_ml=250),
        recorded_by="charge-1",
        position=1,
        staff_id="charge-1",
        episode_id="e1",
    )


@pytest.mark.parametrize(
    ("actor", "named", "expected"),
    [(NURSE, None, "nurse-1"), (NURSE, "nurse-2", "nurse-2"), (PROGRAM, None, None)],
    ids=["own", "for another", "a program names nobody"],
)
def test_who_did_it_is_who_is_named_or_else_who_records(
    charting: Charting, actor: Actor, named: str | None, expected: str | None
) -> None:
    charting.open()

    charting.record(0, Note("seen"), actor=actor, staff_id=named)

    (event,) = charting.episode(1).events
    assert (event.recorded_by, event.staff_id) == (actor.id, expected)


@ON_BOTH_ENGINES
def test_each_fact_raises_the_revision_of_its_unit(charting: Charting) -> None:
    charting.open()
    charting.open("e2", "p2")

    revisions = [
        charting.record(0, Issued()).revision,
        charting.record(1, Issued(), "e2").revision,
        charting.record(2, Received()).revision,
    ]

    assert revisions == [1, 2, 3]
    assert (charting.state("e1").revision, charting.state("e2").revision) == (3, 2)


@pytest.mark.parametrize("actor", [NURSE, COLLEAGUE, CHARGE, PROGRAM], ids=lambda one: one.id)
def test_the_ward_s_nurses_and_programs_chart(issued: Charting, actor: Actor) -> None:
    issued.record(1, Received(), actor=actor)

    assert issued.episode(2).picture.episode.received_at == at(1)


@pytest.mark.parametrize(
    ("actor", "why"),
    [
        (OUTSIDER, "this is not one of your wards"),
        (OUTSIDE_CHARGE, "this is not one of your wards"),
        (ADMINISTRATOR, "the role administrator may not chart"),
        (MANAGER, "the role manager may not chart"),
    ],
    ids=lambda given: getattr(given, "id", ""),
)
def test_nobody_else_charts_and_nothing_is_stored(issued: Charting, actor: Actor, why: str) -> None:
    before = issued.everything()

    with pytest.raises(Forbidden) as refused:
        issued.record(1, Received(), actor=actor)

    assert (refused.value.why, issued.everything()) == (why, before)


def test_a_manager_gives_a_cause_and_nothing_more(issued: Charting) -> None:
    issued.record(31, CauseGiven(ClockName.START, "porter late"), actor=MANAGER)

    breach = issued.episode(31, at=at(31)).picture.breaches[0]
    assert (breach.clock, breach.cause) == (ClockName.START, "porter late")


def test_an_unknown_unit_is_not_found(issued: Charting) -> None:
    with pytest.raises(NotFound, match="the episode was not found"):
        issued.record(1, Received(), "e9")


@ON_BOTH_ENGINES
@pytest.mark.parametrize(
    ("payload", "phase", "reason"),
    [
        (START, Phase.REQUESTED, "expected issued"),
        (Completed(), Phase.REQUESTED, "expected running or paused"),
    ],
    ids=["start before issue", "end before start"],
)
def test_what_the_phase_does_not_allow_is_refused_with_the_phase(
    charting: Charting, payload: Payload, phase: Phase, reason: str
) -> None:
    charting.open()
    before = charting.everything()

    with pytest.raises(Refused) as refused:
        charting.record(1, payload)

    kind = KIND_OF[type(payload)]
    assert (refused.value.reason, refused.value.phase) == (
        f"{kind} at 10:01:00 UTC is not possible: the episode is {phase} then; {reason}",
        phase,
    )
    assert charting.everything() == before


def test_a_second_start_is_refused(charting: Charting) -> None:
    charting.run()
    before = charting.everything()

    with pytest.raises(Refused, match="the episode is running then; expected issued"):
        charting.record(20, START)

    assert charting.everything() == before


def test_a_late_entry_that_makes_what_came_after_impossible_is_refused(charting: Charting) -> None:
    charting.run()
    charting.record(30, Completed())
    before = charting.everything()

    with pytest.raises(Refused, match="completed at 10:30:00 UTC is not possible"):
        charting.record(20, Completed(), now=at(40))

    assert charting.everything() == before


@pytest.mark.parametrize("ahead", [timedelta(0), timedelta(minutes=2)])
def test_a_bedside_clock_may_be_two_minutes_ahead(charting: Charting, ahead: timedelta) -> None:
    charting.open()

    charting.record(at(0) + ahead, Issued(removed_at=at(0) + ahead), now=at(0))

    assert charting.episode(0).picture.episode.issued_at == at(0) + ahead


@pytest.mark.parametrize(
    ("happened_at", "payload", "field"),
    [
        (at(2, 1), Issued(), "happened_at"),
        (at(0), Issued(removed_at=at(2, 1)), "removed_at"),
    ],
)
def test_a_fact_further_ahead_is_refused(
    charting: Charting, happened_at: datetime, payload: Payload, field: str
) -> None:
    charting.open()
    before = charting.everything()

    with pytest.raises(Invalid) as refused:
        charting.record(happened_at, payload, now=at(0))

    assert (refused.value.field, refused.value.message) == (
        field,
        "lies in the future; expected an instant that has come",
    )
    assert charting.everything() == before


def test_vital_signs_from_before_the_birth_are_refused(charting: Charting) -> None:
    newborn = replace(P2, birth_date=date(2026, 3, 3))
    with charting.store.write() as session:
        register(session, newborn)
    charting.open("e2", "p2")
    before = charting.everything()

    with pytest.raises(Invalid, match="happened_at: lies before the patient was born"):
        charting.record(datetime(2026, 3, 2, 23, 59, 59, tzinfo=UTC), FULL, "e2", now=at(0))

    assert charting.everything() == before
    assert charting.record(datetime(2026, 3, 3, tzinfo=UTC), FULL, "e2", now=at(0)).revision == 1


@ON_BOTH_ENGINES
def test_an_expected_revision_has_to_be_the_present_one(issued: Charting) -> None:
    before = issued.everything()

    with pytest.raises(StaleRevision) as stale:
        issued.record(1, Received(), expected_revision=0)

    assert (stale.value.revision, issued.everything()) == (1, before)
    assert issued.record(1, Received(), expected_revision=1).revision == 2


def test_a_unit_without_facts_has_revision_0(charting: Charting) -> None:
    charting.open()

    assert charting.record(0, Issued(), expected_revision=0).revision == 1


def test_a_set_for_another_unit_of_the_patient_raises_the_revision_too(issued: Charting) -> None:
    issued.open("e2")
    issued.record(1, FULL, "e2")

    with pytest.raises(StaleRevision) as stale:
        issued.record(2, Received(), expected_revision=1)

    assert stale.value.revision == 2


@pytest.mark.parametrize("now", [at(10), at(180)], ids=["at once", "late"])
def test_a_unit_is_worked_out_at_once(charting: Charting, now: datetime) -> None:
    charting.open()
    for minute, payload in ((0, Issued()), (5, SOUND), (6, CHECKED), (10, START)):
        charting.record(minute, payload, now=now)
    charting.record(11, Assigned("nurse-2"), now=now)

    state = charting.state()

    expected: dict[str, Any] = {
        "phase": Phase.RUNNING,
        "revision": 5,
        "last_recorded_at": now,
        "issued_at": at(0),
        "started_at": at(10),
        "ended_at": None,
        "nurse_id": "nurse-2",
        "open_until": None,
    }
    assert {name: getattr(state, name) for name in expected} == expected
    assert charting.rebuild(now).differed == ()


def test_a_whole_course_ends_off_the_board(charting: Charting) -> None:
    charting.run()
    charting.record(100, Completed(280))
    charting.record(105, FateRecorded(Fate.TRANSFUSED))

    state = charting.state()

    assert (state.phase, state.ended_at) == (Phase.CLOSED, at(100))
    assert state.open_until == at(100) + timedelta(hours=24)
