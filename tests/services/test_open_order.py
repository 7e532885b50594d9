"""An order gives one episode for each unit; the same order again gives what is there."""

from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest

from server.domain.errors import Invalid
from server.domain.request import Request
from server.domain.words import Component, Level, Priority
from server.services.actor import Actor
from server.services.errors import Conflict, Forbidden, NotFound
from server.services.open_order import OrderDraft, Ordered, list_orders, open_order, patients_of
from server.store.orders import Order
from server.store.requests import read_requests
from server.store.sessions import Change
from tests.domain.builders import at
from tests.services.charting import Charting, ids_of
from tests.services.engines import ON_BOTH_ENGINES
from tests.services.people import (
    ADMINISTRATOR,
    CHARGE,
    MANAGER,
    NURSE,
    OUTSIDE_CHARGE,
    OUTSIDER,
    PROGRAM,
)
from tests.store.facts import counted_queries

DRAFT = OrderDraft(
    id="o1",
    patient_id="p1",
    ward_id="w1",
    bed="4",
    component=Component.RED_CELLS,
    units=2,
    volume_ml=280,
    priority=Priority.URGENT,
    not_before=at(60),
    wanted_by=at(180),
    max_rate_ml_h=150,
    duration_minutes=120,
    requirements=("irradiated", "CMV negative"),
    sample_taken_at=at(-600),
    nurse_id="nurse-2",
    requested_at=at(-10),
)
ORDER = Order(
    id="o1",
    patient_id="p1",
    ward_id="w1",
    bed="4",
    component=Component.RED_CELLS,
    units=2,
    recorded_at=at(0),
    recorded_by="charge-1",
    volume_ml=280,
    priority=Priority.URGENT,
    not_before=at(60),
    wanted_by=at(180),
    max_rate_ml_h=150,
    duration_minutes=120,
    requirements=("irradiated", "CMV negative"),
    sample_taken_at=at(-600),
)


def _order(charting: Charting, draft: OrderDraft = DRAFT, actor: Actor = CHARGE) -> Ordered:
    with charting.store.write() as session:
        return open_order(session, actor, draft, now=at(0))


@ON_BOTH_ENGINES
def test_an_order_gives_an_episode_for_each_unit(charting: Charting) -> None:
    heard: list[tuple[Change, ...]] = []
    charting.store.on_commit(heard.append)

    ordered = _order(charting)

    assert ordered == Ordered(ORDER, ("o1-1", "o1-2"))
    with charting.store.read() as session:
        requests = read_requests(session, ordered.episode_ids)
    assert requests["o1-2"] == Request(
        id="o1-2",
        patient_id="p1",
        ward_id="w1",
        bed="4",
        component=Component.RED_CELLS,
        recorded_at=at(0),
        recorded_by="charge-1",
        volume_ml=280,
        order_id="o1",
        n=2,
        units=2,
        priority=Priority.URGENT,
        not_before=at(60),
        wanted_by=at(180),
        max_rate_ml_h=150,
        duration_minutes=120,
        requirements=("irradiated", "CMV negative"),
        sample_taken_at=at(-600),
        nurse_id="nurse-2",
        requested_at=at(-10),
    )
    assert [change.episode_ids for change in heard[0]] == [frozenset({"o1-1", "o1-2"})]
    board = charting.board(0)
    assert (ids_of(board), board.counts[Level.WAITING]) == (["o1-1", "o1-2"], 2)


def test_an_order_without_an_id_is_given_one(charting: Charting) -> None:
    ordered = _order(charting, replace(DRAFT, id=None))

    assert ordered.episode_ids == (f"{ordered.order.id}-1", f"{ordered.order.id}-2")


@ON_BOTH_ENGINES
def test_the_same_order_again_stores_nothing(charting: Charting) -> None:
    first = _order(charting)
    before = charting.everything()

    assert _order(charting) == first
    assert charting.everything() == before


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("patient_id", "p2"),
        ("ward_id", "w2"),
        ("bed", "5"),
        ("component", Component.PLASMA),
        ("units", 3),
        ("volume_ml", 300),
        ("priority", Priority.ROUTINE),
        ("not_before", at(61)),
        ("wanted_by", None),
        ("max_rate_ml_h", 100),
        ("duration_minutes", 180),
        ("requirements", ("irradiated",)),
        ("sample_taken_at", None),
    ],
)
def test_another_order_of_the_same_id_is_a_conflict(
    charting: Charting, name: str, value: object
) -> None:
    _order(charting)
    before = charting.everything()
    changes: dict[str, Any] = {name: value}

    with pytest.raises(Conflict, match=f"an order of this id exists with another {name}"):
        _order(charting, replace(DRAFT, **changes), PROGRAM)

    assert charting.everything() == before


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"units": 0}, "units"),
        ({"units": 41}, "units"),
        ({"volume_ml": 0.5}, "volume_ml"),
        ({"duration_minutes": 1441}, "duration_minutes"),
        ({"max_rate_ml_h": 0}, "max_rate_ml_h"),
        ({"bed": "x" * 201}, "bed"),
        ({"sample_taken_at": at(2, 1)}, "sample_taken_at"),
        ({"requested_at": at(2, 1)}, "requested_at"),
        ({"wanted_by": at(59)}, "wanted_by"),
    ],
)
def test_an_order_that_cannot_be_is_refused(
    charting: Charting, changes: dict[str, Any], field: str
) -> None:
    before = charting.everything()

    with pytest.raises(Invalid) as refused:
        _order(charting, replace(DRAFT, **changes))

    assert (refused.value.field, charting.everything()) == (field, before)


@pytest.mark.parametrize(
    "changes",
    [
        {"wanted_by": at(60)},
        {"not_before": None},
        {"wanted_by": None},
        {"sample_taken_at": None, "requested_at": None},
        {"requested_at": at(0) + timedelta(minutes=2)},
        {"bed": ""},
        {"units": 40},
    ],
    ids=str,
)
def test_what_is_possible_is_taken(charting: Charting, changes: dict[str, Any]) -> None:
    draft = replace(DRAFT, **changes)

    assert len(_order(charting, draft).episode_ids) == draft.units


@pytest.mark.parametrize(
    ("changes", "what"), [({"ward_id": "w7"}, "the ward"), ({"patient_id": "p7"}, "the patient")]
)
def test_an_order_for_nobody_or_nowhere_is_refused(
    charting: Charting, changes: dict[str, Any], what: str
) -> None:
    with pytest.raises(NotFound, match=f"{what} was not found"):
        _order(charting, replace(DRAFT, **changes), PROGRAM)


@pytest.mark.parametrize(
    "actor", [NURSE, MANAGER, ADMINISTRATOR, OUTSIDE_CHARGE], ids=lambda one: one.id
)
def test_nobody_else_orders_for_the_ward(charting: Charting, actor: Actor) -> None:
    before = charting.everything()

    with pytest.raises(Forbidden):
        _order(charting, DRAFT, actor)

    assert charting.everything() == before


def test_orders_are_listed_for_the_ward_s_own(charting: Charting) -> None:
    ordered = _order(charting)

    with charting.store.read() as session:
        assert list_orders(session, NURSE, "w1") == (ordered,)
        with pytest.raises(Forbidden):
            list_orders(session, OUTSIDER, "w1")
        assert list_orders(session, OUTSIDER, "w2") == ()


@pytest.mark.parametrize("orders", [1, 3])
def test_listing_one_takes_as_many_queries_as_listing_three(
    charting: Charting, orders: int
) -> None:
    for number in range(orders):
        _order(charting, replace(DRAFT, id=f"o{number}"))

    with charting.store.read() as session, counted_queries(charting.store) as sent:
        listed = list_orders(session, NURSE, "w1")
        patients = patients_of(session, listed)

    assert (len(listed), set(patients), len(sent)) == (orders, {"p1"}, 3)
