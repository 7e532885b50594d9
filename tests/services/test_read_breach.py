"""One limit that was not kept: as it is known now, and as it was known and said then."""

import pytest

from server.domain.breach_course import Known
from server.domain.delivery import DeliveryState
from server.domain.payloads import Acknowledged, Assigned, CauseGiven, Issued, Voided
from server.domain.words import ClockName, ClockState, Stage
from server.services.actor import Actor
from server.services.errors import Forbidden, NotFound
from server.services.read_breach import BreachRead, read_breach
from server.store.deliveries import Sending
from tests.domain.builders import at
from tests.services.charting import Charting, instant
from tests.services.engines import ON_BOTH_ENGINES
from tests.services.mail import TAKEN, answered, enter
from tests.services.people import MANAGER, NURSE, OUTSIDER
from tests.store.facts import counted_queries

FIRST = ClockName.FIRST_CHECK


def chart(charting: Charting) -> None:
    """`e1` runs from 10 min, Nina's; a check done at 38 is charted at 45; ticked each minute."""
    enter(charting.store, when=-500)
    charting.run(nurse_id="nurse-1")
    charting.tick_each(60, at(11), at(31))
    answered(charting.store, 31, TAKEN)
    charting.record(33, Acknowledged(FIRST, "nurse-1"))
    charting.tick_each(60, at(33), at(44))
    charting.observe(38, now=45)


def read(
    charting: Charting,
    when: float = 60,
    clock: ClockName = FIRST,
    *,
    n: int = 1,
    actor: Actor = MANAGER,
    unit: str = "e1",
) -> BreachRead:
    with charting.store.read() as session:
        return read_breach(session, actor, unit, clock, n, now=instant(when))


@ON_BOTH_ENGINES
def test_a_breach_is_told_with_what_was_known_and_said_then(ward: Charting) -> None:
    found = read(ward)

    assert found.breach is not None
    assert (found.breach.met_at, found.breach.late_minutes) == (at(38), 8)
    assert (found.state, found.clock.limit_at) == (ClockState.MET_LATE, at(30))
    assert found.passed_at == at(30, 1)
    assert found.then is not None
    assert found.then.urgency.reason == "First check was due 10:25, limit 10:30 passed just now."
    assert [(one.since, one.clock and one.clock.met_at) for one in found.course.known] == [
        (at(10), None),
        (at(45), at(38)),
    ]
    assert found.course.shown == ((at(30, 1), at(45)),)
    assert [(one.to_state, one.noticed_at) for one in found.crossed][-2:] == [
        (ClockState.OVERDUE, at(31)),
        (ClockState.MET_LATE, at(45)),
    ]


@ON_BOTH_ENGINES
def test_reminders_say_whom_they_told_who_answered_and_by_what_they_went(ward: Charting) -> None:
    found = read(ward)

    assert [(one.stage, one.raised_at, one.to) for one in found.raised] == [
        (Stage.NOTICE, at(15), "nurse-1"),
        (Stage.DUE, at(25), "nurse-1"),
        (Stage.OVERDUE, at(31), "nurse-1"),
    ]
    assert {one.acknowledged_by for one in found.raised} == {"nurse-1"}
    assert found.names["nurse-1"] == "Nina Nurse"
    states = [sending.state for one in found.raised for sending in found.sent[one.id]]
    assert states == [DeliveryState.DELIVERED, DeliveryState.WAITING, DeliveryState.WAITING]
    taken = found.sent[found.raised[0].id]
    assert taken == (Sending("Pagers", DeliveryState.DELIVERED, at(31)),)


def test_what_was_kept_after_all_is_no_breach_and_still_told(charting: Charting) -> None:
    charting.run()
    charting.tick(31)
    charting.observe(28, now=45)

    found = read(charting)

    assert (found.breach, found.state) == (None, ClockState.MET)
    assert found.course.told_at == at(45)


def test_a_unit_that_was_typed_in_afterwards_was_on_no_board(charting: Charting) -> None:
    charting.open(now=50)
    charting.record(0, Issued(), now=50)
    charting.record(5, Assigned("nurse-2"), now=50)

    found = read(charting, 60, ClockName.START)

    assert (found.then, found.course.shown) == (None, ((at(50), at(60, 1)),))
    assert found.raised[0].raised_at == at(50)
    assert found.sent == {}


def test_a_baseline_that_was_missed_is_never_reminded_of(charting: Charting) -> None:
    charting.open()
    charting.issue()
    charting.start()

    found = read(charting, 32, ClockName.BASELINE_CHECK)

    assert (found.state, found.raised, found.sent) == (ClockState.MISSED, (), {})


@pytest.mark.parametrize(
    ("unit", "clock", "n", "what"),
    [
        ("e7", FIRST, 1, "the episode"),
        ("e1", FIRST, 2, "the limit"),
        ("e1", ClockName.END_CHECK, 1, "the limit"),
        ("e1", ClockName.FINISH, 1, "a breach of this limit"),
    ],
)
def test_what_is_no_breach_is_not_found(
    ward: Charting, unit: str, clock: ClockName, n: int, what: str
) -> None:
    with pytest.raises(NotFound, match=what):
        read(ward, clock=clock, n=n, unit=unit)


def test_an_outsider_may_not_read_it(ward: Charting) -> None:
    assert read(ward, actor=NURSE).breach is not None
    with pytest.raises(Forbidden, match="this is not one of your wards"):
        read(ward, actor=OUTSIDER)


def test_a_check_that_was_taken_back_is_open_again(ward: Charting) -> None:
    taken = ward.episode(60).observations[-1].id
    ward.record(61, Voided(taken, "the wrong patient"))

    found = read(ward, 70)

    assert found.state is ClockState.OVERDUE
    assert isinstance(found.course.known[-1], Known)
    assert found.course.shown == ((at(30, 1), at(45)), (at(61), at(70, 1)))


def test_a_cause_for_every_breach_so_far_explains_it(ward: Charting) -> None:
    ward.record(50, CauseGiven(FIRST, "busy"), actor=MANAGER)

    found = read(ward)

    assert found.breach is not None
    assert found.breach.cause == "busy"


@pytest.mark.parametrize(("until", "reminders"), [(31, 3), (60, 11)])
def test_many_reminders_take_no_more_queries_than_few(
    charting: Charting, until: int, reminders: int
) -> None:
    enter(charting.store, when=-500)
    charting.run(nurse_id="nurse-1")
    charting.tick_each(60, at(11), at(until))

    with counted_queries(charting.store) as sent:
        found = read(charting, until)

    assert (len(found.raised), len(sent)) == (reminders, 25)
