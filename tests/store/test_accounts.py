"""Units of a period are read by the period: indexes lead to them, history outside costs nothing."""

from dataclasses import replace
from datetime import timedelta

import pytest

from server.domain.account import UnitRecord
from server.domain.issued_units import IssuedUnit
from server.domain.payloads import Issued
from server.domain.words import ClockName, ClockState, Component, Fate
from server.store.accounts import (
    Tally,
    bags_of_shared_numbers,
    read_units,
    settled_unit_ids,
    tally_units,
    unit_ids,
)
from server.store.clock_states import ClockRecord, save_clocks
from server.store.issued_units import save_issued_units
from server.store.requests import add_requests
from server.store.states import save_states
from server.store.store import Store
from tests.domain.builders import at
from tests.store.facts import a_request, a_state, analyze, counted_queries, plans_of, record

BAG = IssuedUnit("e1", "G123426000017", "E0336", "00", at(0))
CLOCK = ClockRecord("e1", "w1", ClockName.FINISH, 1, None, at(240), at(240), None, ClockState.OPEN)
GIVEN = {"started_at": at(9), "ended_at": at(99), "fate": Fate.TRANSFUSED, "fate_at": at(101)}
MANY = 3_000

pytestmark = pytest.mark.usefixtures("ward")


def test_a_unit_comes_with_its_bag_its_limits_and_the_removal_that_was_named(store: Store) -> None:
    with store.write() as session:
        record(session, at(0), Issued(removed_at=at(-3)))
        came = {"issued_at": at(0), "removed_at": at(-3)}
        save_states(session, [a_state("e1", **came, **GIVEN)])
        save_states(session, [a_state("e2", issued_at=at(5), removed_at=at(5))])
        save_issued_units(session, {"e1": BAG})
        start = replace(CLOCK, clock=ClockName.START, limit_at=at(30))
        save_clocks(session, {"e1": [CLOCK, start, replace(CLOCK, n=2, limit_at=at(999))]})

    with store.read() as session, counted_queries(store) as sent:
        found = list(read_units(session, ["e2", "e1", "none"]))

    bare = UnitRecord("e2", "w1", "p2", "4", Component.RED_CELLS, issued_at=at(5))
    assert found == [
        bare,
        UnitRecord(
            "e1",
            "w1",
            "p1",
            "4",
            Component.RED_CELLS,
            issued_at=at(0),
            removed_at=at(-3),
            **GIVEN,  # type: ignore[arg-type]
            number="G123426000017",
            product_code="E0336",
            division="00",
            start_limit_at=at(30),
            finish_limit_at=at(240),
        ),
    ]
    assert len(sent) == 3


def test_a_unit_without_an_issue_comes_with_its_start(store: Store) -> None:
    with store.write() as session:
        save_states(session, [a_state("e1", issued_at=None, started_at=at(10))])
        sent_back = {"issued_at": at(11), "fate": Fate.RETURNED, "fate_at": at(30)}
        save_states(session, [a_state("e2", **sent_back)])
        save_issued_units(session, {"e1": BAG, "e2": replace(BAG, episode_id="e2")})

    with store.read() as session:
        spans = [("w1", at(low), at(high)) for low, high in ((0, 11), (10, 12), (12, 99))]
        ids = [unit_ids(session, *span) for span in spans]
        settled = [settled_unit_ids(session, *span, first=0, most=9) for span in spans]
        tallies = [tally_units(session, *span) for span in spans]
        shared = bags_of_shared_numbers(session, *spans[0])

    assert ids == [("e1",), ("e1", "e2"), ()]
    assert settled == [(), ("e2",), ()]
    assert tallies == [Tally(1, 1, 0), Tally(2, 1, 0), Tally(0, 0, 0)]
    assert {one.episode_id for one in shared} == {"e1", "e2"}


def test_the_queries_walk_their_indexes(store: Store) -> None:
    _fill(store)
    span = ("w1", at(0), at(3))

    def ask() -> None:
        with store.read() as session:
            assert tally_units(session, *span) == Tally(3, 3, 0)
            assert len(unit_ids(session, *span, without_fate=True)) == 3
            assert settled_unit_ids(session, *span, first=0, most=50) == ()
            assert len(list(read_units(session, ["u0", "u1"]))) == 2
            assert len(bags_of_shared_numbers(session, *span)) == 3

    plan = plans_of(store, ask)

    assert "ix_episode_state_ward_id_issued_at" in plan, plan
    wide = [line for line in plan.splitlines() if line.startswith("SCAN") or "Seq Scan" in line]
    # The log has no event here: of an empty table PostgreSQL reads no index.
    assert [line for line in wide if "event" not in line] == [], plan


def _fill(store: Store) -> None:
    """A long history: one unit each minute, with a number of its own."""
    ids = [f"u{number}" for number in range(MANY)]
    with store.write() as session:
        add_requests(session, [a_request(one, "p1") for one in ids])
        save_states(
            session,
            [
                a_state(one, patient_id="p1", issued_at=at(0) + timedelta(minutes=n))
                for n, one in enumerate(ids)
            ],
        )
        save_issued_units(
            session, {one: replace(BAG, episode_id=one, number=f"N{one}") for one in ids}
        )
        save_clocks(session, {one: [replace(CLOCK, episode_id=one)] for one in ids})
    analyze(store)
