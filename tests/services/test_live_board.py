"""The board in memory: right at every instant, and the same objects while nothing changes."""

import sqlite3
from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest

from server.domain.payloads import (
    Assigned,
    Cancelled,
    Issued,
    Note,
    SetChanged,
    SetHung,
    Voided,
)
from server.domain.words import Level
from server.services.enter_staff import enter_staff
from server.services.enter_ward import enter_ward
from server.services.errors import NotFound
from server.services.live_board import LiveBoards
from server.services.read_board import Board
from server.store.store import Store
from tests.domain.builders import FULL, POLICIES, at
from tests.services.charting import Charting, Minute, ids_of, instant
from tests.services.engines import ON_BOTH_ENGINES
from tests.services.people import (
    ADMINISTRATOR,
    COLLEAGUE,
    P1,
    WARD_1,
    register,
    staff_draft,
)
from tests.store.facts import counted_queries


class Live:
    """Live boards, and the charting that they listen to."""

    def __init__(self, charting: Charting) -> None:
        self.charting = charting
        self.boards = LiveBoards(charting.store)
        charting.store.on_commit(self.boards.hear)

    def board(self, when: Minute, ward_id: str = "w1") -> Board:
        """The board in memory."""
        return self.boards.board(ward_id, instant(when))

    def is_right(self, when: Minute, ward_id: str = "w1") -> bool:
        """Whether it is the board that is read; at the full minute also in its words."""
        return self.board(when, ward_id) == self.charting.board(when, ward_id=ward_id)


def chart(charting: Charting) -> None:
    """`e1` of `p1` and `e2` of `p2` running, `e3` of `p1` waiting."""
    charting.run("e1", "p1")
    charting.run("e2", "p2")
    charting.open("e3", "p1")
    charting.tick(20)


@pytest.fixture
def live(ward: Charting) -> Live:
    """Live boards, looked at at 20 min."""
    boards = Live(ward)
    boards.board(20)
    return boards


def _change_patient(charting: Charting) -> None:
    with charting.store.write() as session:
        register(session, replace(P1, overload_risks=("heart failure",)), minute=21)


def _rename_nurse(charting: Charting) -> None:
    with charting.store.write() as session:
        renamed = replace(staff_draft(COLLEAGUE), name="Cleo C.")
        enter_staff(session, ADMINISTRATOR, renamed, now=at(20))


def _move_ward(charting: Charting) -> None:
    changed = replace(WARD_1, timezone="Asia/Kolkata", policy="nz")
    with charting.store.write() as session:
        enter_ward(session, ADMINISTRATOR, changed, POLICIES, now=at(21))


CHANGES: dict[str, Callable[[Charting], object]] = {
    "a fact": lambda charting: charting.record(21, Note("seen"), "e1"),
    "an assignment": lambda charting: charting.record(21, Assigned("nurse-2"), "e1"),
    "a set on the patient": lambda charting: charting.observe(21, "p1"),
    "a set on a unit": lambda charting: charting.record(21, FULL, "e3"),
    "a fact before the request": lambda charting: charting.record(-900, Note("x"), "e1", now=21),
    "an early set": lambda charting: charting.observe(-500, "p1", now=21),
    "an issue": lambda charting: charting.record(21, Issued(), "e3"),
    "a giving set": lambda charting: charting.record(21, SetHung(), "e1"),
    "a cancellation": lambda charting: charting.record(21, Cancelled("x"), "e3"),
    "a new unit": lambda charting: charting.open("e4", "p2", now=21),
    "a patient": _change_patient,
    "a name": _rename_nurse,
    "the ward": _move_ward,
    "a tick": lambda charting: charting.tick(26),
}


@ON_BOTH_ENGINES
@pytest.mark.parametrize("change", ["a fact", "a set on the patient", "the ward", "a new unit"])
def test_a_change_is_seen_at_once(live: Live, change: str) -> None:
    CHANGES[change](live.charting)

    assert live.is_right(26)


@pytest.mark.parametrize("first", CHANGES)
@pytest.mark.parametrize("second", ["a fact", "the ward"])
def test_two_changes_between_two_looks_are_both_seen(live: Live, first: str, second: str) -> None:
    live.charting.record(21, Assigned("nurse-2"), "e2")
    live.board(21)

    CHANGES[first](live.charting)
    CHANGES[second](live.charting)

    assert live.is_right(26)


@pytest.mark.parametrize("change", CHANGES)
def test_what_another_process_wrote_is_found_within_the_second(live: Live, change: str) -> None:
    elsewhere = Store(live.charting.store.address)

    CHANGES[change](Charting(elsewhere))

    assert live.is_right(26)
    elsewhere.close()


def test_a_voided_fact_is_gone(live: Live) -> None:
    noted = live.charting.record(21, Assigned("nurse-2"), "e1")
    live.board(21)

    live.charting.record(22, Voided(noted.event_id, "x"), "e1")

    assert live.is_right(22)


def test_a_giving_set_changed_on_one_unit_moves_the_other(live: Live) -> None:
    live.charting.record(21, SetHung(), "e1")
    live.charting.record(22, Issued(), "e3")
    live.board(22)

    live.charting.record(22, SetChanged(), "e1", now=at(23))

    assert live.is_right(23)


def test_while_nothing_changes_it_is_the_same_object(live: Live) -> None:
    assert live.board(20) is live.board(20)


def test_within_the_minute_the_rows_are_the_same_objects(live: Live) -> None:
    first, later = live.board(20), live.board(at(20, 59))

    assert (later.at, later.rows is first.rows) == (at(20, 59), True)


def test_with_the_minute_every_row_is_looked_at_anew(live: Live) -> None:
    first, later = live.board(at(20, 59)), live.board(21)

    assert set(map(id, first.rows)) & set(map(id, later.rows)) == set()
    assert live.is_right(21)


def test_a_fact_leaves_the_rows_of_other_units_as_they_were(live: Live) -> None:
    before = {row.picture.case.request.id: row for row in live.board(20).rows}

    live.charting.record(20, FULL, "e2")
    after = {row.picture.case.request.id: row for row in live.board(20).rows}

    assert [after[one] is before[one] for one in ("e1", "e2", "e3")] == [True, False, True]


def test_a_new_nurse_leaves_the_rows_of_others_as_they_were(live: Live) -> None:
    before = {row.picture.case.request.id: row for row in live.board(20).rows}

    live.charting.record(20, Assigned("nurse-2"), "e2")
    after = {row.picture.case.request.id: row for row in live.board(20).rows}

    assert [after[one] is before[one] for one in ("e1", "e2", "e3")] == [True, False, True]
    assert after["e2"].nurse_name == "Cleo Colleague"


def test_what_time_changes_within_the_minute_is_seen_at_its_second(live: Live) -> None:
    """The first check of `e1` is overdue one second after 30 min."""
    levels = [
        next(
            row.picture.urgency.level
            for row in live.board(when).rows
            if row.picture.case.request.id == "e1"
        )
        for when in (30, at(30, 1))
    ]

    assert levels == [Level.AT_RISK, Level.OVERDUE]


def test_without_any_tick_it_is_right_as_well(live: Live) -> None:
    assert [live.is_right(minute) for minute in (31, 90, 241, 2_000)] == [True] * 4


def test_a_unit_leaves_at_its_second_and_comes_back_when_the_end_was_a_mistake(
    live: Live,
) -> None:
    cancelled = live.charting.record(21, Cancelled("x"), "e3")
    leaves = at(21) + timedelta(hours=24)
    before, after = ids_of(live.board(leaves - timedelta(seconds=1))), ids_of(live.board(leaves))
    live.charting.record(leaves, Voided(cancelled.event_id, "wrong unit"), "e3")

    back = ids_of(live.board(leaves))

    assert ["e3" in ids for ids in (before, after, back)] == [True, False, True]


def test_a_request_by_a_clock_that_is_ahead_is_on_it(live: Live) -> None:
    live.charting.open("e4", requested_at=at(23), now=21)

    assert "e4" in ids_of(live.board(21))
    assert live.is_right(21)


def test_checking_is_no_change_but_is_told(live: Live) -> None:
    rows = live.board(20).rows

    live.charting.tick(at(20, 1))
    board = live.board(at(20, 1))

    assert (board.checked_at, board.rows is rows) == (at(20, 1), True)


def test_an_unchanged_board_costs_one_question(live: Live) -> None:
    with counted_queries(live.charting.store) as sent:
        live.board(at(20, 1))

    assert len(sent) == 1


def test_each_ward_has_its_own(live: Live) -> None:
    live.charting.open("other", "p9", ward_id="w2", now=21)

    assert ids_of(live.board(21, "w2")) == ["other"]
    assert "other" not in ids_of(live.board(21))


def test_an_unknown_ward_is_not_found_until_it_is_entered(live: Live) -> None:
    with pytest.raises(NotFound, match="the ward was not found"):
        live.board(20, "w7")
    assert set(live.boards._boards) == set(live.boards._locks) == {"w1"}

    with live.charting.store.write() as session:
        enter_ward(session, ADMINISTRATOR, replace(WARD_1, id="w7"), POLICIES, now=at(20))
    assert live.board(20, "w7").rows == ()


@pytest.mark.parametrize("facts", [1, 2])
def test_a_unit_whose_facts_cannot_be_read_is_named_and_comes_back(live: Live, facts: int) -> None:
    """All others stay right; mended, the board is whole again within the minute."""
    file = Path(live.charting.store.address.removeprefix("sqlite:///"))
    for _ in range(facts):
        live.charting.record(21, Note("seen"), "e3")
    _set_kind(file, "unreadable")
    spoilt = live.board(21)
    before = live.is_right(21)

    _set_kind(file, "note")

    assert (sorted(ids_of(spoilt)), [one.id for one in spoilt.spoilt]) == (["e1", "e2"], ["e3"])
    assert (before, live.board(21).spoilt) == (True, spoilt.spoilt)
    assert live.is_right(22)


def _set_kind(file: Path, kind: str) -> None:
    connection = sqlite3.connect(file)
    with connection:
        connection.execute("DROP TRIGGER IF EXISTS event_no_update")
        connection.execute(
            "UPDATE event SET kind = ? WHERE episode_id = 'e3' AND kind IN ('note', 'unreadable')",
            (kind,),
        )
    connection.close()


def test_after_the_clock_was_put_back_it_shows_again_what_had_left_by_then(live: Live) -> None:
    live.charting.record(21, Cancelled("ward_decision"), "e3")
    gone = ids_of(live.board(22 + 24 * 60))

    assert "e3" not in gone
    assert live.is_right(22)
    assert "e3" in ids_of(live.board(22))
