"""The load of a period is read by the period: indexes lead to it, history outside costs nothing."""

from dataclasses import replace
from datetime import timedelta

import pytest

from server.domain.alarm_load import Duty
from server.domain.alarm_outcomes import Told
from server.domain.words import ClockName, ClockState, Role, Stage
from server.store.alarm_load import duties_within, reminders_of_period, units_issued
from server.store.clock_states import ClockRecord, save_clocks
from server.store.reminders import RaisedReminder, raise_reminders, reminders_calling
from server.store.requests import add_requests
from server.store.shifts import Shift, save_shift
from server.store.staff import Staff, save_staff
from server.store.states import save_states
from server.store.store import Store
from tests.domain.builders import at
from tests.store.facts import a_request, a_state, analyze, plans_of

NURSES = (Role.BEDSIDE_NURSE, Role.CHARGE_NURSE)
DUE = RaisedReminder("r1", "w1", "e1", ClockName.START, 1, Stage.DUE, 0, at(30), at(30), "nurse-1")
LATER = replace(DUE, id="r2", stage=Stage.OVERDUE, owed_at=at(90), raised_at=at(90), to="charge")
OTHER = replace(DUE, id="r3", episode_id="e2", clock=ClockName.FINISH, raised_at=at(59))
MET = ClockRecord("e1", "w1", ClockName.START, 1, None, at(30), at(90), at(91), ClockState.MET_LATE)
MANY = 3_000

pytestmark = pytest.mark.usefixtures("ward")


def test_reminders_come_with_their_clock_and_with_the_later_ones_of_their_unit(
    store: Store,
) -> None:
    with store.write() as session:
        raise_reminders(session, [DUE, LATER, OTHER])
        save_clocks(session, {"e1": [MET]})

    with store.read() as session:
        found = [
            set(reminders_of_period(session, "w1", at(low), at(high)))
            for low, high in ((30, 59), (31, 60), (91, 999))
        ]
        elsewhere = reminders_of_period(session, "w2", at(0), at(99))

    first = Told("e1", DUE.clock, 1, Stage.DUE, 0, at(30), at(30), "nurse-1", None, at(91),
                 ClockState.MET_LATE)  # fmt: skip
    then = first._replace(stage=Stage.OVERDUE, owed_at=at(90), raised_at=at(90), to="charge")
    other = first._replace(episode_id="e2", clock=OTHER.clock, raised_at=at(59), met_at=None,
                           state=None)  # fmt: skip
    assert found == [{first, then}, {other}, set()]
    assert elsewhere == ()


def test_units_count_by_their_issue_and_shifts_when_they_lie_inside(store: Store) -> None:
    with store.write() as session:
        save_states(session, [a_state("e1", issued_at=at(0)), a_state("e2", issued_at=at(60))])
        for name, role in (("n1", Role.BEDSIDE_NURSE), ("m1", Role.MANAGER)):
            save_staff(session, Staff(name, name, role, frozenset({"w1"})))
            for minute in (-1, 0, 1):
                hours = (at(minute), at(minute + 60))
                save_shift(session, Shift(f"{name} {minute}", name, "w1", *hours))

    with store.read() as session:
        assert units_issued(session, "w1", at(0), at(60)) == {"e1"}
        assert duties_within(session, "w1", at(0), at(60), NURSES) == (Duty("n1", at(0), at(60)),)


def test_the_queries_walk_their_indexes(store: Store) -> None:
    _fill(store)

    def ask() -> None:
        with store.read() as session:
            assert len(reminders_of_period(session, "w1", at(0), at(3))) == 3
            assert len(units_issued(session, "w1", at(0), at(3))) == 3
            assert len(duties_within(session, "w1", at(0), at(9), NURSES)) == 5
            since = at(MANY - 3)
            calling = reminders_calling(session, ["w1"], ["nurse-1"], since, escalated=True)
            assert len(calling) == 3

    plan = plans_of(store, ask)

    for index in (
        "ix_reminder_ward_id_raised_at",
        "ix_episode_state_ward_id_issued_at",
        "ix_shift_ward_id_starts_at",
    ):
        assert index in plan, plan
    wide = [line for line in plan.splitlines() if line.startswith("SCAN") or "Seq Scan" in line]
    assert [line for line in wide if "staff" not in line.lower()] == [], plan


def _fill(store: Store) -> None:
    """A long history: one unit, reminder and shift of five minutes each minute."""
    ids = [f"u{number}" for number in range(MANY)]
    with store.write() as session:
        save_staff(session, Staff("n1", "Nia", Role.BEDSIDE_NURSE, frozenset({"w1"})))
        add_requests(session, [a_request(one, "p1") for one in ids])
        save_states(
            session,
            [a_state(one, patient_id="p1", issued_at=at(n)) for n, one in enumerate(ids)],
        )
        raise_reminders(
            session,
            [
                replace(DUE, id=f"r{n}", episode_id=one, raised_at=at(n))
                for n, one in enumerate(ids)
            ],
        )
        owed = replace(MET, met_at=None, state=ClockState.DUE)
        save_clocks(session, {one: [replace(owed, episode_id=one)] for one in ids})
        for n, one in enumerate(ids):
            save_shift(session, Shift(one, "n1", "w1", at(n), at(n) + timedelta(minutes=5)))
    analyze(store)
