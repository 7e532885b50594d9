"""Orders: what was prescribed, as it was prescribed."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, fields
from datetime import datetime
from functools import partial
from typing import Final

from sqlalchemy import ColumnElement, insert, select

from server.domain.request import DamagedRequest, Request
from server.domain.words import Component, Priority
from server.store.asked import asked_of, in_parts, whole_or
from server.store.requests import requests_of_order
from server.store.sessions import ReadSession, WriteSession
from server.store.statements import IDS, columns_for, in_chunks, one_of, values_of
from server.store.tables import ORDER


@dataclass(frozen=True, slots=True)
class Order:
    """So many units of a component for a patient; gives one episode for each unit."""

    id: str
    patient_id: str
    ward_id: str
    bed: str
    component: Component
    units: int
    recorded_at: datetime
    recorded_by: str
    volume_ml: float | None = None
    priority: Priority = Priority.ROUTINE
    not_before: datetime | None = None
    wanted_by: datetime | None = None
    max_rate_ml_h: float | None = None
    duration_minutes: int | None = None
    requirements: tuple[str, ...] = ()
    sample_taken_at: datetime | None = None

    def unit(
        self, n: int, *, requested_at: datetime | None, nurse_id: str | None = None
    ) -> Request:
        """The request of its `n`-th unit, counted from 1; the order's own id leads its id."""
        return Request(
            id=f"{self.id}-{n}",
            patient_id=self.patient_id,
            ward_id=self.ward_id,
            bed=self.bed,
            component=self.component,
            recorded_at=self.recorded_at,
            recorded_by=self.recorded_by,
            volume_ml=self.volume_ml,
            order_id=self.id,
            n=n,
            units=self.units,
            priority=self.priority,
            not_before=self.not_before,
            wanted_by=self.wanted_by,
            max_rate_ml_h=self.max_rate_ml_h,
            duration_minutes=self.duration_minutes,
            requirements=self.requirements,
            sample_taken_at=self.sample_taken_at,
            nurse_id=nurse_id,
            requested_at=requested_at,
        )


_ORDERS: Final = select(*columns_for(ORDER, Order)).order_by(ORDER.c.recorded_at.desc(), ORDER.c.id)
_NAMED: Final = _ORDERS.where(one_of(ORDER.c.id))


def add_order(session: WriteSession, order: Order) -> None:
    """Keep a new order. Raises `Clash` if its id is taken or its patient or ward is unknown."""
    add_orders(session, [order])


def add_orders(session: WriteSession, orders: Iterable[Order]) -> None:
    """Keep new orders, as `add_order` does."""
    session.run(insert(ORDER), [values_of(order) for order in orders])


def read_order(session: ReadSession, order_id: str) -> Order | None:
    """One order, None if there is none of that id."""
    return _named(session, [order_id], partial(_left, session)).get(order_id)


def whole_orders(session: ReadSession, order_ids: Iterable[str]) -> dict[str, Order]:
    """These orders by id, without those whose row is damaged."""
    return _named(session, order_ids, lambda _: None)


def orders_of_ward(session: ReadSession, ward_id: str, *, limit: int = 100) -> tuple[Order, ...]:
    """The newest orders of a ward, the newest first."""
    return _where(session, ORDER.c.ward_id == ward_id, limit)


def orders_of_patient(session: ReadSession, patient_id: str) -> tuple[Order, ...]:
    """All orders for a patient, the newest first."""
    return _where(session, ORDER.c.patient_id == patient_id, None)


def _where(
    session: ReadSession, wanted: ColumnElement[bool], limit: int | None
) -> tuple[Order, ...]:
    def one_by_one() -> tuple[Order, ...]:
        newest = select(ORDER.c.id).where(wanted).order_by(ORDER.c.recorded_at.desc(), ORDER.c.id)
        ids = [row.id for row in session.rows(newest.limit(limit))]
        found = _named(session, ids, partial(_left, session))
        return tuple(found[order_id] for order_id in ids if order_id in found)

    rows = partial(session.rows, _ORDERS.where(wanted).limit(limit))
    return whole_or(lambda: tuple(asked_of(Order, row) for row in rows()), one_by_one)


def _named(
    session: ReadSession, order_ids: Iterable[str], left: Callable[[str], Order | None]
) -> dict[str, Order]:
    found: dict[str, Order] = {}
    for chunk in in_chunks(sorted(set(order_ids))):
        found |= in_parts(chunk, partial(_read, session), left)
    return found


def _read(session: ReadSession, ids: Sequence[str]) -> Mapping[str, Order]:
    return {row.id: asked_of(Order, row) for row in session.rows(_NAMED, {IDS: ids})}


def _left(session: ReadSession, order_id: str) -> Order | None:
    """A damaged order as one of its units tells it: each bears all of it."""
    units = requests_of_order(session, order_id)
    unit = next((one for one in units if not isinstance(one, DamagedRequest)), None)
    if unit is None:
        return None
    return Order(**{one.name: getattr(unit, one.name) for one in fields(Order)} | {"id": order_id})
