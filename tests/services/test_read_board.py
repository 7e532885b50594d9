"""The board: a ward's units in order of urgency, now, then, and as it was known."""

from dataclasses import replace
from datetime import timedelta

import pytest

from server.domain.payloads import Assigned, Cancelled, Issued, RateSet, ReactionSuspected
from server.domain.words import Component, Level, Phase
from server.services.accept_plan import accept_plan, discard_plan
from server.services.actor import Actor
from server.services.errors import Forbidden, NotFound
from server.services.read_board import read_board
from tests.domain.builders import at
from tests.services.charting import Charting, ids_of, words_of
from tests.services.engines import ON_BOTH_ENGINES
from tests.services.people import (
    ADMINISTRATOR,
    CHARGE,
    MANAGER,
    NURSE,
    OUTSIDER,
    P1,
    PROGRAM,
    register,
)
from tests.services.planned_ward import fill_ward, keep_list_plan
from tests.store.facts import counted_queries

HOLDS = "Pause and assess: suspected reaction since 10:28 in bed 2, red cells."
SUSPECTED = "Suspected reaction since 10:28. Transfusion is running: not yet recorded as stopped."


def chart(charting: Charting) -> None:
    """`w1`: one unit overdue, one waiting, one steady, one with a reaction; `w2`: one."""
    charting.open("overdue", "p1")
    charting.issue("overdue", minute=-31)
    charting.open("waiting", "p1", bed="3")
    charting.run("steady", "p2", bed="1")
    charting.observe(25, "p2")
    charting.record(26, RateSet(150), "steady")
    charting.run("reaction", "p2", bed="2")
    charting.record(28, ReactionSuspected(("rigors",)), "reaction")
    charting.open("other ward", "p9", ward_id="w2")


@ON_BOTH_ENGINES
def test_rows_stand_in_order_of_urgency_with_the_reason(ward: Charting) -> None:
    board = ward.board(30)

    assert words_of(board) == [
        ("reaction", "reaction", SUSPECTED),
        ("overdue", "overdue", "Start was due 09:59, 31 min ago."),
        ("steady", "steady", f"{HOLDS} 150 mL/h, ends 12:11, 1 h 49 to spare."),
        ("waiting", "waiting", "Requested, not yet ready."),
    ]  # fmt: skip
    assert board.counts == dict.fromkeys(Level, 0) | {
        Level.REACTION: 1,
        Level.OVERDUE: 1,
        Level.STEADY: 1,
        Level.WAITING: 1,
    }


def test_it_says_of_when_it_is(ward: Charting) -> None:
    ward.tick(29)

    board = ward.board(30)

    assert (board.at, board.checked_at) == (at(30), at(29))
    assert (board.ward.id, board.revision) == ("w1", board.ward.revision)


@pytest.mark.parametrize(
    "actor", [NURSE, CHARGE, MANAGER, ADMINISTRATOR, PROGRAM], ids=lambda one: one.id
)
def test_whoever_is_on_the_ward_sees_it(ward: Charting, actor: Actor) -> None:
    with ward.store.read() as session:
        board = read_board(session, actor, "w1", now=at(30))

    assert ids_of(board) == ["reaction", "overdue", "steady", "waiting"]


def test_an_outsider_sees_their_own_ward_only(ward: Charting) -> None:
    with ward.store.read() as session:
        with pytest.raises(Forbidden, match="this is not one of your wards"):
            read_board(session, OUTSIDER, "w1", now=at(30))

        assert ids_of(read_board(session, OUTSIDER, "w2", now=at(30))) == ["other ward"]


def test_an_unknown_ward_is_not_found(charting: Charting) -> None:
    with pytest.raises(NotFound, match="the ward was not found"):
        charting.board(0, ward_id="w7")


def test_an_empty_ward_has_an_empty_board(charting: Charting) -> None:
    board = charting.board(0)

    assert (board.rows, board.checked_at, board.counts) == ((), None, dict.fromkeys(Level, 0))


def test_a_nurse_is_named_where_the_name_is_known(charting: Charting) -> None:
    for episode_id in ("named", "unknown", "nobody"):
        charting.open(episode_id)
    charting.record(0, Assigned("nurse-2"), "named")
    charting.record(0, Assigned("agency"), "unknown")

    rows = charting.board(1).rows

    assert {row.picture.case.request.id: row.nurse_name for row in rows} == {
        "named": "Cleo Colleague",
        "unknown": None,
        "nobody": None,
    }


@pytest.mark.parametrize("units", [1, 3])
def test_a_board_of_one_takes_as_many_queries_as_a_board_of_three(
    charting: Charting, units: int
) -> None:
    for number in range(units):
        charting.run(f"e{number}", f"p{1 + number % 2}")
        charting.record(12, Assigned(f"nurse-{1 + number % 2}"), f"e{number}")

    with counted_queries(charting.store) as sent:
        charting.board(20)

    assert len(sent) == 11


@ON_BOTH_ENGINES
def test_a_unit_leaves_when_its_watch_is_over(charting: Charting) -> None:
    charting.open()
    charting.record(0, Cancelled("not needed"))
    leaves = at(0) + timedelta(hours=24)

    boards = [charting.board(when) for when in (leaves - timedelta(seconds=1), leaves)]

    assert [ids_of(board) for board in boards] == [["e1"], []]
    assert boards[0].rows[0].picture.urgency.level is Level.CLOSED


@ON_BOTH_ENGINES
def test_at_an_instant_only_what_had_happened_counts(ward: Charting) -> None:
    """The request of the waiting unit was typed in at -60, and it stood a day before that."""
    phases = [
        {row.picture.case.request.id: row.picture.episode.phase for row in board.rows}
        for board in (ward.board(60, at=minute) for minute in (-40, -31, 10))
    ]

    requested = dict.fromkeys(("overdue", "waiting", "steady", "reaction"), Phase.REQUESTED)
    running = {"steady": Phase.RUNNING, "reaction": Phase.RUNNING}
    assert phases == [
        requested,
        requested | {"overdue": Phase.ISSUED},
        requested | {"overdue": Phase.ISSUED} | running,
    ]


@ON_BOTH_ENGINES
def test_what_was_recorded_later_was_not_known(charting: Charting) -> None:
    charting.open("early", now=-60)
    charting.record(0, Issued(), "early", now=at(20))
    charting.open("late", requested_at=at(-60), now=15)

    known = [charting.board(60, at=19, known_at=known_at) for known_at in (10, 15, 20)]

    assert [
        {row.picture.case.request.id: row.picture.episode.phase for row in board.rows}
        for board in known
    ] == [
        {"early": Phase.REQUESTED},
        {"early": Phase.REQUESTED, "late": Phase.REQUESTED},
        {"early": Phase.ISSUED, "late": Phase.REQUESTED},
    ]


def test_what_was_known_of_a_patient_was_known_then(charting: Charting) -> None:
    charting.run(component=Component.RED_CELLS)
    with charting.store.write() as session:
        register(session, replace(P1, overload_risks=("heart failure",)), minute=20)

    ceilings = [
        charting.board(30, at=at, known_at=at).rows[0].picture.infusion.permitted_rate_ml_h
        for at in (19, 20)
    ]

    assert ceilings == [300, 100]


def test_a_closed_unit_was_open_as_far_as_one_knew(charting: Charting) -> None:
    charting.open()
    charting.record(0, Cancelled("not needed"), now=at(30) + timedelta(days=2))

    board = charting.board(5 * 24 * 60, at=2 * 24 * 60, known_at=2 * 24 * 60)

    assert [row.picture.episode.phase for row in board.rows] == [Phase.REQUESTED]
    assert charting.board(5 * 24 * 60, at=2 * 24 * 60).rows == ()


def test_boards_of_the_past_show_the_plan_that_was_in_force_then(charting: Charting) -> None:
    """Whatever is known now: a plan is in force from its acceptance until it is discarded."""
    fill_ward(charting)
    keep_list_plan(charting.store, "a", at(30))
    with charting.store.write() as session:
        accept_plan(session, CHARGE, "a", now=at(30))
        discard_plan(session, CHARGE, "a", now=at(40))

    planned = [
        {
            row.picture.case.planned is not None
            for row in charting.board(60, at=minute, known_at=known_at).rows
            if row.picture.urgency.level is Level.WAITING
        }
        for minute in (29, 30, 39, 40)
        for known_at in (minute, None)
    ]

    assert planned == [{False}, {False}, {True}, {True}, {True}, {True}, {False}, {False}]
