"""Orders and the requests they gave."""

import pytest

from server.domain.request import Request
from server.domain.words import Component, Priority
from server.store.errors import Clash
from server.store.orders import Order, add_order, orders_of_patient, orders_of_ward, read_order
from server.store.requests import (
    add_requests,
    episode_ids_after,
    episode_ids_of_orders,
    read_request,
    read_requests,
    requests_of_patient,
)
from server.store.store import Store
from server.store.wards import Ward
from tests.domain.builders import at
from tests.store.facts import a_request, counted_queries

FULL_ORDER = Order(
    id="o1",
    patient_id="p1",
    ward_id="w1",
    bed="4",
    component=Component.PLATELETS,
    units=2,
    recorded_at=at(0),
    recorded_by="nurse-1",
    volume_ml=250.5,
    priority=Priority.URGENT,
    not_before=at(10),
    wanted_by=at(90),
    max_rate_ml_h=150,
    duration_minutes=90,
    requirements=("irradiated", "washed"),
    sample_taken_at=at(-600),
)
SHORT_ORDER = Order("o2", "p2", "w1", "5", Component.PLASMA, 1, at(1), "nurse-1")
UNITS = [
    a_request(
        f"u{n}",
        "p1",
        order_id="o1",
        n=n,
        units=2,
        priority=Priority.EMERGENCY,
        requirements=("irradiated",),
        not_before=at(1),
        wanted_by=at(2),
        sample_taken_at=at(3),
        requested_at=at(4),
        max_rate_ml_h=150.0,
        duration_minutes=90,
        nurse_id="nurse-2",
        history=True,
    )
    for n in (1, 2)
]


@pytest.fixture(autouse=True)
def _orders(store: Store, ward: Ward) -> None:
    assert ward.id == FULL_ORDER.ward_id
    with store.write() as session:
        for order in (FULL_ORDER, SHORT_ORDER):
            add_order(session, order)
        add_requests(session, UNITS[::-1])


def test_orders_come_back_as_they_were_made(store: Store) -> None:
    with store.read() as session:
        assert [read_order(session, f"o{n}") for n in (1, 2, 3)] == [FULL_ORDER, SHORT_ORDER, None]


def test_orders_are_listed_the_newest_first(store: Store) -> None:
    with store.read() as session:
        assert orders_of_ward(session, "w1") == (SHORT_ORDER, FULL_ORDER)
        assert orders_of_ward(session, "w1", limit=1) == (SHORT_ORDER,)
        assert orders_of_ward(session, "w2") == ()
        assert orders_of_patient(session, "p1") == (FULL_ORDER,)


def test_requests_come_back_as_they_were_made(store: Store) -> None:
    with store.read() as session:
        assert read_requests(session, ["u2", "u1", "e2", "e9"]) == {
            "u1": UNITS[0],
            "u2": UNITS[1],
            "e2": a_request("e2", "p2"),
        }
        assert read_request(session, "e9") is None


def test_requests_are_listed_in_their_order(store: Store) -> None:
    with store.read() as session:
        assert episode_ids_of_orders(session, ["o1", "o2"]) == {"o1": ("u1", "u2"), "o2": ()}
        assert requests_of_patient(session, "p1") == (a_request("e1", "p1"), *UNITS)


@pytest.mark.parametrize("wanted", [["u1"], ["u1", "u2", "e1"]], ids=["one", "three"])
def test_many_requests_take_one_query(store: Store, wanted: list[str]) -> None:
    with store.read() as session, counted_queries(store) as sent:
        read_requests(session, wanted)

    assert len(sent) == 1


@pytest.mark.parametrize(
    "wrong",
    [
        a_request("e1", "p1"),
        a_request("e3", "p9"),
        a_request("e3", "p1", ward_id="w9"),
        a_request("e3", "p1", order_id="o9"),
    ],
    ids=["taken", "patient", "ward", "order"],
)
def test_a_request_must_be_new_and_refer_to_what_is_there(store: Store, wrong: Request) -> None:
    with pytest.raises(Clash), store.write() as session:
        add_requests(session, [a_request("e4", "p1"), wrong])

    with store.read() as session:
        assert read_request(session, "e4") is None


def test_all_episodes_are_walked_piece_by_piece(store: Store) -> None:
    with store.read() as session:
        first = episode_ids_after(session, limit=3)
        rest = episode_ids_after(session, first[-1], limit=3)

    assert (first, rest) == (("e1", "e2", "u1"), ("u2",))
