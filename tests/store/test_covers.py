"""Covers as they are kept and found, planned breaks, and the units that nurses have."""

from dataclasses import replace

import pytest

from server.domain.cover import Absence, Cover
from server.domain.words import Phase, Role
from server.store.covers import (
    add_cover,
    breaks_between,
    covers_between,
    end_cover,
    read_cover,
)
from server.store.errors import Clash
from server.store.nurse_units import nurses_with_units, units_of_nurses, units_of_patient
from server.store.shifts import Break, Shift, save_shift
from server.store.staff import Staff, save_staff
from server.store.states import save_states
from server.store.store import Store
from server.store.wards import Ward, add_ward
from tests.domain.builders import at
from tests.store.facts import a_state, counted_queries

EARLY = Cover("c1", "w1", "n2", "n1", at(0), at(30), at(-10), "n1")
LATE = replace(EARLY, id="c2", from_at=at(60), until_at=at(80))
ELSEWHERE = replace(EARLY, id="c3", ward_id="w2")


@pytest.fixture(autouse=True)
def _people(store: Store, ward: Ward) -> None:
    with store.write() as session:
        add_ward(session, Ward("w2", "Ward 5", ward.timezone, at(0)))
        for staff_id in ("n1", "n2"):
            wards = frozenset({"w1"})
            save_staff(session, Staff(staff_id, staff_id, Role.BEDSIDE_NURSE, wards))


@pytest.mark.parametrize(
    ("wards", "start", "end", "found"),
    [
        (["w1"], 0, 100, [EARLY, LATE]),
        (["w1"], 29, 60, [EARLY]),
        (["w1"], 30, 60, []),
        (["w1"], 79, 100, [LATE]),
        (["w1", "w2"], 0, 1, [EARLY, ELSEWHERE]),
        ([], 0, 100, []),
    ],
)
def test_covers_in_force_in_a_period_are_found(
    store: Store, wards: list[str], start: int, end: int, found: list[Cover]
) -> None:
    with store.write() as session:
        for one in (LATE, ELSEWHERE, EARLY):
            add_cover(session, one)

    with store.read() as session, counted_queries(store) as sent:
        listed = covers_between(session, wards, at(start), at(end))

    assert (listed, len(sent)) == (tuple(found), 1)


def test_a_cover_that_was_ended_is_kept_and_found_only_until_then(store: Store) -> None:
    with store.write() as session:
        add_cover(session, EARLY)
        end_cover(session, "c1", at=at(10), by="n2")

    ended = replace(EARLY, ended_at=at(10), ended_by="n2")
    with store.read() as session:
        assert [read_cover(session, one) for one in ("c1", "none")] == [ended, None]
        assert covers_between(session, ["w1"], at(9), at(100)) == (ended,)
        assert covers_between(session, ["w1"], at(10), at(100)) == ()


@pytest.mark.parametrize("wrong", [{"covering_id": "nobody"}, {"ward_id": "none"}])
def test_a_cover_of_nobody_or_nowhere_is_not_kept(store: Store, wrong: dict[str, str]) -> None:
    with pytest.raises(Clash), store.write() as session:
        add_cover(session, replace(EARLY, **wrong))  # type: ignore[arg-type]


def test_planned_breaks_that_overlap_a_period_are_found_by_begin(store: Store) -> None:
    breaks = (Break(at(90), at(120)), Break(at(240), at(270)))
    with store.write() as session:
        save_shift(session, Shift("s1", "n1", "w1", at(0), at(480), breaks))
        save_shift(session, Shift("s2", "n2", "w1", at(0), at(480), (Break(at(80), at(100)),)))
        save_shift(session, Shift("s3", "n1", "w2", at(0), at(480), breaks))

    with store.read() as session:
        found = breaks_between(session, "w1", at(0), at(200))
        edges = [
            breaks_between(session, "w1", at(270), at(300)),
            breaks_between(session, "w1", at(0), at(80)),
        ]

    assert found == (Absence("n2", at(80), at(100)), Absence("n1", at(90), at(120)))
    assert edges == [(), ()]


def test_the_units_of_nurses_are_found_while_they_are_on_the_board(store: Store) -> None:
    with store.write() as session:
        save_states(
            session,
            [
                a_state("e1", nurse_id="n1", phase=Phase.RUNNING),
                a_state("e2", nurse_id="n2", phase=Phase.CLOSED, open_until=at(60)),
            ],
        )

    with store.read() as session:
        both = [units_of_nurses(session, ["w1"], ["n1", "n2"], at(m)) for m in (59, 60)]
        others = [
            units_of_nurses(session, ["w2"], ["n1"], at(0)),
            units_of_nurses(session, ["w1"], [], at(0)),
        ]
        busy = nurses_with_units(session, "w1")

    assert (both, others, busy) == ([("e1", "e2"), ("e1",)], [(), ()], ("n1",))


def test_the_units_of_a_patient_are_those_whose_fate_is_open(store: Store) -> None:
    with store.write() as session:
        save_states(session, [a_state("e1", nurse_id=None, phase=Phase.REQUESTED)])
        save_states(session, [a_state("e2", phase=Phase.CLOSED)])

    with store.read() as session:
        found = [units_of_patient(session, "w1", one) for one in ("p1", "p2")]
        elsewhere = units_of_patient(session, "w2", "p1")

    assert (found, elsewhere) == ([(("e1", None),), ()], ())
