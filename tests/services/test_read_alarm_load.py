"""The load of a ward: for those who review it, by the period, and never by person."""

from dataclasses import fields
from datetime import timedelta

import pytest

from server.domain.alarm_load import Duty, ShiftLoad, Spread, Tally
from server.domain.errors import Invalid
from server.domain.payloads import Acknowledged, Started
from server.domain.words import ClockName, Role, Stage
from server.services.actor import Actor
from server.services.enter_shift import ShiftDraft, enter_shift
from server.services.errors import Forbidden, NotFound
from server.services.passed_limits import Period
from server.services.read_alarm_load import WardLoad, read_alarm_load
from tests.domain.builders import at
from tests.services.charting import Charting
from tests.services.engines import ON_BOTH_ENGINES
from tests.services.people import (
    ADMINISTRATOR,
    CHARGE,
    MANAGER,
    NURSE,
    OUTSIDE_CHARGE,
    PROGRAM,
    W1,
)

HOUR = Period(at(0), at(60))
OUTSIDE_MANAGER = Actor("m9", "M", Role.MANAGER, frozenset({"w2"}), staff_id="m9")


@pytest.fixture
def hour(charting: Charting) -> Charting:
    """Unit `e1` is issued to nurse-1, who starts it late; `e2` of nobody is started at once."""
    with charting.store.write() as session:
        for person, begins in ((NURSE, -30), (CHARGE, -30), (MANAGER, -30)):
            shift = ShiftDraft(person.id, "w1", at(begins), at(60))
            enter_shift(session, ADMINISTRATOR, shift, now=at(-240))
    charting.open(nurse_id="nurse-1")
    charting.issue()
    charting.run("e2", "p2")
    charting.tick_each(60, 0, 32)
    charting.record(33, Acknowledged(ClockName.START, "nurse-1"))
    charting.tick_each(60, 33, 36)
    charting.observe(36)
    charting.start(minute=37)
    return charting


def read(
    charting: Charting, actor: Actor = MANAGER, period: Period = HOUR, minute: float = 60
) -> WardLoad:
    with charting.store.read() as session:
        return read_alarm_load(session, actor, "w1", period, now=at(minute))


@ON_BOTH_ENGINES
def test_what_was_raised_is_counted_with_what_came_of_it(hour: Charting) -> None:
    found = read(hour)

    start = found.load.by_clock[ClockName.START]
    assert (found.ward_id, found.period, found.useful_within) == ("w1", HOUR, timedelta(minutes=10))
    # Notice and due were each followed by the next stage; the limit was answered in two minutes.
    assert start == Tally(1, 0, 2, 0, 0, 0, 0, acknowledged=1, escalated=0)
    # Nobody took the return: it fell away with the start, after a repeat and an escalation.
    back = found.load.by_clock[ClockName.RETURN]
    assert back == Tally(0, 0, 3, 0, 0, 2, 0, acknowledged=0, escalated=1)
    assert found.load.hours[10] == found.load.total
    assert found.load.units.among == 2
    assert Stage.ESCALATE in {stage for stage, _ in found.load.by_stage}


def test_shifts_are_those_of_nurses_that_are_over(hour: Charting) -> None:
    whole = Period(at(-30), at(120))

    over, running = read(hour, period=whole), read(hour, period=whole, minute=59)

    (shifts,) = over.load.shifts
    assert (shifts.begins, shifts.spread.among) == ("09:30", 2)
    assert shifts.spread.most >= shifts.spread.middle > 0
    assert running.load.shifts == ()


def test_no_answer_names_a_person(hour: Charting) -> None:
    named = {"nurse-1", "charge-1", "Nina Nurse", "Carl Charge"}

    assert not named & {str(part) for part in _parts(read(hour))}
    assert {one.name for one in fields(WardLoad)} == {
        "ward_id", "period", "useful_within", "load",
    }  # fmt: skip
    assert "staff_id" not in ShiftLoad._fields + Spread._fields
    assert "staff_id" in Duty._fields


def _parts(value: object) -> list[object]:
    """Everything that an answer holds, however deep."""
    if isinstance(value, WardLoad):
        return [part for one in fields(value) for part in _parts(getattr(value, one.name))]
    if isinstance(value, tuple):
        return [part for one in value for part in _parts(one)]
    return [value]


@pytest.mark.parametrize(
    "actor",
    [NURSE, ADMINISTRATOR, PROGRAM, OUTSIDE_CHARGE, OUTSIDE_MANAGER],
    ids=lambda actor: actor.id,
)
def test_who_does_not_review_the_ward_is_refused(hour: Charting, actor: Actor) -> None:
    with pytest.raises(Forbidden):
        read(hour, actor)
    assert read(hour, CHARGE) == read(hour, Actor("p", "P", Role.MANAGER, W1))


def test_a_ward_that_is_not_there_is_not_found(charting: Charting) -> None:
    with charting.store.read() as session, pytest.raises(NotFound):
        read_alarm_load(session, MANAGER, "none", HOUR, now=at(0))


@pytest.mark.parametrize(
    ("period", "message"),
    [
        (Period(at(0), at(0)), "is not after from; expected a later instant"),
        (Period(at(0), at(0) + timedelta(days=366, seconds=1)), "makes more than 366 days"),
        (Period(), "makes more than 366 days"),
    ],
)
def test_a_period_that_cannot_be_is_refused(
    charting: Charting, period: Period, message: str
) -> None:
    with pytest.raises(Invalid, match=message) as refused:
        read(charting, period=period)
    assert refused.value.field == "to"
    assert read(charting, period=Period(at(0), at(0) + timedelta(days=366))).load.total.raised == 0


def test_a_start_without_a_reminder_is_a_live_unit_all_the_same(charting: Charting) -> None:
    charting.open()
    charting.issue()
    charting.start(minute=5)
    assert isinstance(charting.episode(6).events[-1].payload, Started)

    assert read(charting).load.units == Spread(1, 0, 0.0, 0)
