"""The order of the board: level, then the earliest relevant instant, then bed, then id."""

from datetime import datetime

import pytest

from server.domain.payloads import (
    Available,
    Completed,
    FateRecorded,
    Issued,
    ReactionSuspected,
    Returned,
    Started,
)
from server.domain.picture import Case, pictures
from server.domain.urgency import NEVER, RANK, Urgency, natural
from server.domain.words import Fate, Level
from tests.domain.builders import FULL, POLICIES, Fact, at, case, look


def order(now: datetime, *cases: Case) -> list[str]:
    """The ids in the order of their rows."""
    rows = sorted((look(given, now) for given in cases), key=lambda row: row.sort_key)
    return [row.case.request.id for row in rows]


def test_levels_stand_in_their_order_first_to_last() -> None:
    assert sorted(Level, key=RANK.__getitem__) == [
        Level.REACTION,
        Level.PAST_LIMIT,
        Level.OVERDUE,
        Level.AT_RISK,
        Level.DUE,
        Level.SOON,
        Level.STEADY,
        Level.WAITING,
        Level.CLOSED,
    ]


BEGUN: tuple[Fact, ...] = ((-40, Issued()), (-35, FULL))
ROWS: dict[str, tuple[Fact, ...]] = {
    "reaction": (*BEGUN, (-10, Started(150)), (-2, ReactionSuspected())),
    "past_limit": ((-260, Issued()),),
    "overdue": (*BEGUN, (-30, Started(150))),
    "at_risk": (*BEGUN, (-30, Started(60)), (-15, FULL)),
    "due": (*BEGUN, (-16, Started(300))),
    "soon": (*BEGUN, (-10, Started(300))),
    "steady": ((-2, Issued()),),
    "waiting": ((-2, Available()),),
    "closed": ((-12, Issued()), (-2, Returned())),
}


def test_one_row_of_every_level_stands_in_its_place() -> None:
    cases = [case(*facts, id=name) for name, facts in reversed(ROWS.items())]

    assert [look(given, at(0)).urgency.level for given in cases] == list(reversed(Level))
    assert order(at(0), *cases) == list(ROWS)


def test_within_a_level_the_earliest_instant_goes_first() -> None:
    """Overdue since 20, 25 and 30 min; the bed does not matter."""
    cases = [
        case((minute, Issued()), id=f"issued-{minute}", bed=str(30 - minute), policy=POLICIES["ca"])
        for minute in (0, -5, -10)
    ]

    assert order(at(31), *cases) == ["issued--10", "issued--5", "issued-0"]


def test_of_one_instant_the_bed_decides_as_people_count() -> None:
    cases = [
        case((0, Issued()), id=f"e-{bed}", bed=bed)
        for bed in ("Bay 12", "Bay 2", "bay 3", "10", "9", "A", "9b", "9a")
    ]

    assert order(at(5), *cases) == [
        "e-9",
        "e-9a",
        "e-9b",
        "e-10",
        "e-A",
        "e-Bay 2",
        "e-bay 3",
        "e-Bay 12",
    ]


def test_of_one_bed_the_id_decides() -> None:
    cases = [case((0, Issued()), id=name) for name in ("b", "c", "a")]

    assert order(at(5), *cases) == ["a", "b", "c"]


def test_rows_at_risk_stand_by_their_finish_limit() -> None:
    """Not by since when: who runs out of time first goes first."""
    soon = case((0, Issued()), (5, FULL), (10, Started(60)), (25, FULL), id="soon")
    later = case((8, Issued()), (9, FULL), (9, Started(60)), (25, FULL), id="later")

    assert [look(given, at(30)).urgency.since_at for given in (soon, later)] == [at(10), at(9)]
    assert order(at(30), later, soon) == ["soon", "later"]


def test_waiting_rows_stand_by_when_they_are_wanted() -> None:
    cases = [
        case(id="4-wanted-first", wanted_by=at(60), not_before=at(-200)),
        case(id="3-not-before", not_before=at(30)),
        case(id="2-asked-late", requested_at=at(-30)),
        case(id="1-wanted-last", wanted_by=at(90)),
        case(id="5-asked-early"),
    ]

    assert order(at(0), *cases) == [
        "5-asked-early",
        "2-asked-late",
        "3-not-before",
        "4-wanted-first",
        "1-wanted-last",
    ]
    assert [look(given, at(0)).urgency.since_at for given in (cases[4], cases[2])] == [
        at(-120),
        at(-30),
    ]


def test_steady_rows_stand_by_what_comes_next_and_last_what_owes_nothing() -> None:
    running = case((-5, Issued()), (0, Started(150)), (10, FULL), id="check-at-70")
    issued = case((0, Issued()), id="start-at-30")
    free = case((-60, Started(9)), (-45, FULL), history=True, policy=POLICIES["uk"], id="free")

    assert order(at(11), free, running, issued) == ["start-at-30", "check-at-70", "free"]
    assert (look(free, at(11)).next_clock, look(free, at(11)).urgency) == (
        None,
        Urgency(Level.STEADY, None, NEVER, "9 mL/h, ends Wed 16:06; no finish limit is known."),
    )


@pytest.mark.parametrize(
    "facts",
    [
        [(0, Issued()), (20, Returned())],
        [
            (0, Issued()),
            (2, Started(300)),
            (3, Completed()),
            (4, FULL),
            (20, FateRecorded(Fate.TRANSFUSED)),
        ],
    ],
)
def test_closed_rows_stand_by_when_they_were_closed(facts: list[Fact]) -> None:
    assert look(case(*facts), at(25)).urgency.sort_at == at(20)


def test_a_case_may_be_looked_at_from_several_instants_at_once() -> None:
    given = case((0, Issued()))

    assert pictures(given, [at(5), at(31)]) == [look(given, at(5)), look(given, at(31))]


@pytest.mark.parametrize(
    ("text", "key"),
    [
        ("4", ((0, 4, ""),)),
        ("Bay 12b", ((1, 0, "bay "), (0, 12, ""), (1, 0, "b"))),
        ("", ()),
        ("²", ((1, 0, "²"),)),
        ("٣", ((0, 3, ""),)),
    ],
)
def test_natural_order_takes_numbers_as_numbers(
    text: str, key: tuple[tuple[int, int, str], ...]
) -> None:
    assert natural(text) == key
