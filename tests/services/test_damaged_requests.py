"""A unit whose request was changed past the program: alone unreadable, and named."""

from typing import Final

import pytest

from server.domain.invariants import Invariant, Patience
from server.domain.payloads import SetHung
from server.domain.words import Component
from server.services.account_for_units import account_for_units
from server.services.errors import Unreadable
from server.services.list_mine import list_mine
from server.services.look_at_invariants import keep_invariants
from server.services.open_order import list_orders, open_order
from server.services.passed_limits import Period
from server.services.walk_units import Suspects
from server.services.walking import walk_all_units
from tests.domain.builders import at
from tests.services.charting import Charting
from tests.services.engines import ON_BOTH_ENGINES
from tests.services.people import CHARGE, MANAGER, NURSE
from tests.services.poison import (
    ASKED,
    DAMAGED_ORDERS,
    DAMAGED_REQUEST,
    mend,
    tamper,
    three_units,
    write_past,
)
from tests.services.records import UNIT, read_in
from tests.services.test_open_order import DRAFT

NOW: Final = at(120)
chart = three_units
O1: Final = "o1-1"


@ON_BOTH_ENGINES
def test_a_tick_sets_it_aside_names_what_is_damaged_and_takes_it_up_again(ward: Charting) -> None:
    tamper(ward.store, DAMAGED_REQUEST)

    aside = ward.tick(130)
    fault = ward.state().fault
    mend(ward.store)
    again = ward.tick(131)

    assert (aside.faults, again.faults) == (1, 0)
    assert fault == "its request is damaged in: component, priority, requirements"
    assert ward.state().fault is None


def test_what_is_not_text_any_more_spoils_its_unit_alone(ward: Charting) -> None:
    """As a disk does that lost a bit: the driver cannot make text of it."""
    tamper(ward.store, f"{ASKED}bed = CAST(x'ff41' AS TEXT)")
    tamper(ward.store, "payload = CAST(x'ff41' AS TEXT)", "e2")

    with ward.store.read() as session:
        mine = list_mine(session, NURSE, now=NOW)

    assert [one.picture.case.request.id for one in mine.units] == ["e3"]
    assert [(one.id, one.bed) for one in mine.lost] == [("e1", "1"), ("e2", "2")]


@ON_BOTH_ENGINES
def test_a_unit_of_the_same_patient_goes_by_its_set_all_the_same(ward: Charting) -> None:
    ward.record(30, SetHung(), "e1")
    before = ward.episode(121, "e3").picture
    tamper(ward.store, DAMAGED_REQUEST)

    after = ward.episode(121, "e3").picture

    assert before.case.line == after.case.line
    assert [one.component for one in after.case.line][-1] is Component.RED_CELLS


def test_the_manager_s_account_lists_it_as_it_was_worked_out(ward: Charting) -> None:
    tamper(ward.store, DAMAGED_REQUEST)

    with ward.store.read() as session:
        day = Period(at(-60), at(600))
        units = account_for_units(session, MANAGER, "w1", day, now=NOW).units

    listed = {one.unit.episode_id: one.unit.component for one in units}
    assert listed["e1"] is Component.RED_CELLS


def test_asking_for_it_again_and_a_record_of_its_id_are_refused(ward: Charting) -> None:
    read_in(ward, UNIT)
    for unit in ("e1", UNIT.episode_id):
        tamper(ward.store, f"{ASKED}priority = 'now'", unit)

    with pytest.raises(Unreadable) as refused:
        ward.open("e1", bed="1", nurse_id="nurse-1")
    again = read_in(ward, UNIT)

    assert refused.value.unit.id == "e1"
    assert [one.text for one in again.refused] == [
        "episode_id: an episode of this id exists, and cannot be read"
    ]


@ON_BOTH_ENGINES
def test_a_damaged_order_is_listed_by_its_units_and_the_administrator_is_told(
    ward: Charting,
) -> None:
    with ward.store.write() as session:
        placed = open_order(session, CHARGE, DRAFT, now=at(0))
    sound = walk_all_units(ward.store, lambda: NOW).suspects
    write_past(ward.store, DAMAGED_ORDERS)

    with ward.store.read() as session:
        listed = list_orders(session, NURSE, "w1")
    found = keep_invariants(ward.store, now=NOW, patience=Patience())
    with ward.store.write() as session:
        again = open_order(session, CHARGE, DRAFT, now=at(1))

    assert (listed, again, sound) == ((placed,), placed, Suspects())
    said = {one.invariant: (one.found, one.subjects) for one in found if one.is_broken}
    assert said[Invariant.ORDERS_AS_UNITS] == (
        "2 units’ orders say something else: o1-1, o1-2",
        ("o1-1", "o1-2"),
    )


def test_an_order_that_says_something_else_than_a_unit_is_named(ward: Charting) -> None:
    with ward.store.write() as session:
        open_order(session, CHARGE, DRAFT, now=at(0))
    tamper(ward.store, f"{ASKED}volume_ml = 300", O1)
    tamper(ward.store, f"{ASKED}nurse_id = 'charge-1'", "o1-2")

    assert walk_all_units(ward.store, lambda: NOW).suspects.misordered == (O1,)
