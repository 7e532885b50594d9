"""A reminder exists once, and somebody has it."""

from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from threading import Barrier

import pytest
from sqlalchemy import insert

from server.domain.words import ClockName, ClockState, Stage
from server.store.clock_states import ClockRecord, save_clocks
from server.store.errors import Clash
from server.store.reminders import (
    RaisedReminder,
    note_acknowledgements,
    raise_reminders,
    reminders_calling,
    reminders_changed_since,
    reminders_of_episodes,
    reminders_since,
)
from server.store.statements import values_of
from server.store.states import save_states
from server.store.store import Store
from server.store.tables import REMINDER
from tests.domain.builders import around, at
from tests.store.facts import a_state

DUE = RaisedReminder("r1", "w1", "e1", ClockName.START, 1, Stage.DUE, 0, at(30), at(31), "nurse-1")
OVERDUE = replace(DUE, id="r2", stage=Stage.OVERDUE, owed_at=at(40), raised_at=at(40))
REPEAT = replace(OVERDUE, id="r3", repeat=1, owed_at=at(45), raised_at=at(45))
FINISH = replace(DUE, id="r4", clock=ClockName.FINISH, raised_at=at(50))
OTHERS = replace(DUE, id="r5", episode_id="e2", raised_at=at(32))
SAME = replace(DUE, id="again", raised_at=at(99), to="nurse-2")
MOVED = replace(DUE, id="moved", owed_at=at(35), raised_at=at(36))

pytestmark = pytest.mark.usefixtures("ward")


def test_a_reminder_is_raised_once(store: Store) -> None:
    with store.write() as session:
        new = [raise_reminders(session, [DUE]), raise_reminders(session, [SAME])]

    assert (new, _all(store)) == ([(DUE,), ()], (DUE,))


def test_a_clock_that_was_moved_by_a_correction_is_told_of_anew(store: Store) -> None:
    _raise(store, DUE)
    _raise(store, MOVED)

    assert _all(store) == (DUE, MOVED)


def test_only_those_that_are_new_are_answered(store: Store) -> None:
    with store.write() as session:
        raise_reminders(session, [DUE])
        new = raise_reminders(session, [OVERDUE, SAME, REPEAT])
        none = raise_reminders(session, [])

    assert (new, none, _all(store)) == ((OVERDUE, REPEAT), (), (DUE, OVERDUE, REPEAT))


def test_stages_of_one_instant_are_in_order(store: Store) -> None:
    stages = [
        replace(DUE, id=f"r{9 - place}", stage=stage, repeat=repeat)
        for place, (stage, repeat) in enumerate(
            [(Stage.NOTICE, 0), (Stage.DUE, 0), (Stage.OVERDUE, 0), (Stage.OVERDUE, 1)]
        )
    ]
    _raise(store, *reversed(stages))

    assert _all(store) == tuple(stages)


def test_the_table_itself_has_room_for_one(store: Store) -> None:
    with store.write() as session:
        raise_reminders(session, [DUE])

    with pytest.raises(Clash, match="reminder"), store.write() as session:
        session.run(insert(REMINDER), values_of(SAME) | {"change_revision": 0})


def test_two_schedulers_raise_it_once_between_them(store: Store) -> None:
    second, begin = Store(store.address), Barrier(2)

    def raise_it(scheduler: Store) -> int:
        begin.wait()
        with scheduler.write() as session:
            return len(raise_reminders(session, [DUE, OVERDUE]))

    with ThreadPoolExecutor(2) as pool:
        raised = sorted(pool.map(raise_it, (store, second)))
    second.close()

    assert (raised, _all(store)) == ([0, 2], (DUE, OVERDUE))


def test_a_new_reminder_changes_the_board_and_a_known_one_does_not(store: Store) -> None:
    with store.write() as session:
        save_states(session, [a_state()])
    for reminder in (DUE, SAME, OVERDUE):
        with store.write() as session:
            raise_reminders(session, [reminder])

    with store.read() as session:
        changed = [reminders_changed_since(session, "w1", revision) for revision in (0, 1, 2)]
    assert changed == [(DUE, OVERDUE), (OVERDUE,), ()]


def test_reminders_are_listed_from_the_instant_they_were_raised(store: Store) -> None:
    _raise(store, OVERDUE, DUE)

    with store.read() as session:
        since = [reminders_since(session, "w1", instant) for instant in around(at(40))]
        elsewhere = reminders_since(session, "w2")

    assert (since, elsewhere) == ([(OVERDUE,), (OVERDUE,), ()], ())


def test_what_calls_is_owed_still_went_to_one_of_them_and_nobody_has(store: Store) -> None:
    escalated = replace(OVERDUE, id="r6", stage=Stage.ESCALATE, to="charge-1")
    taken = replace(DUE, id="r7", n=2, acknowledged_at=at(33), acknowledged_by="nurse-2")
    owed = [ClockRecord("e1", "w1", DUE.clock, n, None, at(30), at(40), None, ClockState.DUE)
            for n in (1, 2)]  # fmt: skip
    met = replace(owed[0], episode_id="e2", met_at=at(31), state=ClockState.MET)
    _raise(store, DUE, escalated, taken, OTHERS)
    with store.write() as session:
        save_clocks(session, {"e1": owed, "e2": [met]})

    def calling(since: float, *, escalated: bool, to: str = "nurse-1") -> list[str]:
        with store.read() as session:
            wanted = reminders_calling(session, ["w1"], [to], at(since), escalated=escalated)
        return [one.id for one in wanted]

    assert calling(31, escalated=False) == ["r1"]
    assert calling(31, escalated=True) == ["r1", "r6"]
    assert calling(32, escalated=True) == ["r6"]
    assert calling(31, escalated=False, to="nurse-2") == []


def test_reminders_of_episodes_come_by_episode(store: Store) -> None:
    _raise(store, OTHERS, OVERDUE, DUE)

    with store.read() as session:
        assert reminders_of_episodes(session, ["e1", "e2", "e3"]) == {
            "e1": (DUE, OVERDUE),
            "e2": (OTHERS,),
        }


def test_who_has_it_is_noted_and_taken_back(store: Store) -> None:
    _raise(store, DUE, OVERDUE)
    had = [replace(one, acknowledged_at=at(41), acknowledged_by="n2") for one in (DUE, OVERDUE)]
    with store.write() as session:
        note_acknowledgements(session, "w1", "e1", had)
    noted = _all(store)
    with store.write() as session:
        note_acknowledgements(session, "w1", "e1", [OVERDUE])

    assert (noted, _all(store)) == (tuple(had), (had[0], OVERDUE))


def test_an_acknowledgement_changes_the_board(store: Store) -> None:
    _raise(store, DUE)
    with store.write() as session:
        had = replace(DUE, acknowledged_at=at(41), acknowledged_by="nurse-2")
        note_acknowledgements(session, "w1", "e1", [had])

    with store.read() as session:
        (changed,) = reminders_changed_since(session, "w1", 1)
    assert (changed.acknowledged_by, store.ward_revision("w1")) == ("nurse-2", 2)


def _raise(store: Store, *reminders: RaisedReminder) -> None:
    with store.write() as session:
        raise_reminders(session, reminders)


def _all(store: Store) -> tuple[RaisedReminder, ...]:
    with store.read() as session:
        return reminders_since(session, "w1")
