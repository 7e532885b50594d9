"""Rows of orders and requests that were changed past the program, and those beside them."""

from dataclasses import replace
from typing import Any, Final

import pytest

from server.domain.request import DamagedRequest
from server.domain.words import Component, Priority
from server.store.asked import whole_or
from server.store.errors import Away
from server.store.orders import (
    Order,
    add_order,
    orders_of_patient,
    orders_of_ward,
    read_order,
    whole_orders,
)
from server.store.requests import (
    add_requests,
    component_asked,
    read_request,
    read_requests,
    requests_of_patient,
)
from server.store.states import save_states
from server.store.store import Store
from server.store.wards import Ward
from tests.domain.builders import at
from tests.services.poison import write_past
from tests.store.facts import a_state

ORDER: Final = Order(
    id="o1",
    patient_id="p1",
    ward_id="w1",
    bed="7",
    component=Component.PLATELETS,
    units=2,
    recorded_at=at(1),
    recorded_by="nurse-1",
    volume_ml=250.5,
    priority=Priority.URGENT,
    requirements=("irradiated",),
)
OTHER: Final = Order("o2", "p1", "w1", "5", Component.PLASMA, 1, at(2), "nurse-1")
UNITS: Final = {
    f"o1-{n}": ORDER.unit(n, requested_at=at(0), nurse_id="nurse-2") for n in (1, 2)
} | {"o2-1": OTHER.unit(1, requested_at=None)}

ON_EITHER: Final[dict[str, dict[str, Any]]] = {
    "component = 'blood'": {"component": Component.PLASMA},
    "priority = 'now'": {"priority": Priority.EMERGENCY},
    "requirements = 'no JSON'": {"requirements": ()},
    "requirements = '7'": {"requirements": ()},
    "requirements = '[7]'": {"requirements": ()},
    "requirements = '\"irradiated\"'": {"requirements": ()},
    "component = 'blood', priority = 'now'": {
        "component": Component.PLASMA,
        "priority": Priority.EMERGENCY,
    },
}
ONLY_IN_A_FILE: Final[dict[str, dict[str, Any]]] = {
    "bed = CAST(x'ff41' AS TEXT)": {"bed": "9"},
    "bed = x'41'": {"bed": "9"},
    "recorded_at = 'yesterday'": {"recorded_at": at(-9)},
    "not_before = '12'": {"not_before": None},
    "volume_ml = 'much'": {"volume_ml": None},
    "duration_minutes = 'long'": {"duration_minutes": None},
    "n = 'first'": {"n": 1},
}
"""What is set, and what the request is then told to be: as it was last worked out, or nothing."""


@pytest.fixture(autouse=True)
def _rows(store: Store, ward: Ward) -> None:
    """Two orders; of `o1-2` a row was worked out that says otherwise, so that each can be told."""
    assert ward.id == ORDER.ward_id
    with store.write() as session:
        for order in (ORDER, OTHER):
            add_order(session, order)
        add_requests(session, list(UNITS.values()))
        worked_out = a_state(
            "o1-2",
            patient_id="p1",
            bed="9",
            component=Component.PLASMA,
            priority=Priority.EMERGENCY,
            recorded_at=at(-9),
        )
        save_states(session, [worked_out])


def _damaged(left: dict[str, Any]) -> DamagedRequest:
    whole = UNITS["o1-2"]
    known = {name: getattr(whole, name) for name in whole.__match_args__}
    return DamagedRequest(**(known | left), damaged=tuple(left))


def _set(store: Store, table: str, setting: str, row_id: str) -> None:
    write_past(store, f"UPDATE {table} SET {setting} WHERE id = '{row_id}'")  # noqa: S608 - a test's own


def _is_a_file(store: Store) -> bool:
    return store.address.startswith("sqlite")


@pytest.mark.parametrize("setting", [*ON_EITHER, *ONLY_IN_A_FILE])
def test_one_damaged_request_is_told_by_what_is_left_and_no_other_is(
    store: Store, setting: str
) -> None:
    if setting in ONLY_IN_A_FILE and not _is_a_file(store):
        pytest.skip("a server takes no such value")
    _set(store, "episode", setting, "o1-2")
    left = _damaged((ON_EITHER | ONLY_IN_A_FILE)[setting])

    with store.read() as session:
        named = read_requests(session, [*UNITS, "e1", "none"])
        alone = read_request(session, "o1-2")
        theirs = requests_of_patient(session, "p1")

    assert (named["o1-2"], alone) == (left, left)
    assert {one: named[one] for one in ("o1-1", "o2-1")} == {
        one: UNITS[one] for one in ("o1-1", "o2-1")
    }
    assert sorted(named) == ["e1", "o1-1", "o1-2", "o2-1"]
    assert sorted(one.id for one in theirs) == ["e1", "o1-1", "o1-2", "o2-1"]
    assert [one.id for one in theirs] == [
        one.id for one in sorted(theirs, key=lambda one: (one.recorded_at, one.n, one.id))
    ]


def test_one_of_which_not_even_the_component_is_known_is_left_out(store: Store) -> None:
    _set(store, "episode", "component = 'blood'", "o1-1")

    with store.read() as session:
        named = read_requests(session, UNITS)
        component = component_asked(session, "o1-2", "blood")
        with pytest.raises(ValueError, match="blood"):
            component_asked(session, "o1-1", "blood")

    assert sorted(named) == ["o1-2", "o2-1"]
    assert component is Component.PLATELETS


@pytest.mark.parametrize("setting", ["component = 'blood'", "requirements = '7'"])
def test_a_damaged_order_is_told_by_a_unit_of_it_that_is_whole(store: Store, setting: str) -> None:
    _set(store, "blood_order", setting, "o1")
    _set(store, "episode", setting, "o1-1")

    with store.read() as session:
        listed = orders_of_ward(session, "w1"), orders_of_patient(session, "p1")
        alone, whole = read_order(session, "o1"), whole_orders(session, ["o1", "o2"])

    assert (listed, alone) == (((OTHER, ORDER), (OTHER, ORDER)), ORDER)
    assert whole == {"o2": OTHER}


def test_an_order_of_which_nothing_is_whole_is_left_out(store: Store) -> None:
    _set(store, "blood_order", "priority = 'now'", "o1")
    for unit in ("o1-1", "o1-2"):
        _set(store, "episode", "priority = 'now'", unit)

    with store.read() as session:
        assert (orders_of_ward(session, "w1"), read_order(session, "o1")) == ((OTHER,), None)
        assert orders_of_ward(session, "w1", limit=1) == (OTHER,)


def test_a_unit_of_an_order_differs_from_it_by_nurse_and_instant_alone() -> None:
    assert [replace(one, nurse_id=None, requested_at=None) for one in UNITS.values()] == [
        *(ORDER.unit(n, requested_at=None) for n in (1, 2)),
        OTHER.unit(1, requested_at=None),
    ]


def test_of_a_database_that_is_away_nothing_else_is_asked() -> None:
    def gone() -> None:
        raise Away("gone")

    with pytest.raises(Away, match="gone"):
        whole_or(gone, lambda: None)
