"""Place an order: it gives one episode for each unit, in sequence."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, fields
from datetime import datetime

from server.domain import limits
from server.domain.errors import Invalid
from server.domain.payloads.values import require_within
from server.domain.request import Patient
from server.domain.requirements import require_sound
from server.domain.words import Component, Priority
from server.services.actor import Actor
from server.services.errors import Conflict
from server.services.open_episode import keep_requests, require_place
from server.services.permissions import Act, require
from server.services.record_event import require_not_ahead
from server.store.ids import new_id
from server.store.orders import Order, add_order, orders_of_ward, read_order
from server.store.patients import read_patients
from server.store.requests import episode_ids_of_orders
from server.store.sessions import ReadSession, WriteSession


@dataclass(frozen=True, slots=True)
class OrderDraft:
    """An order as prescribed; `requested_at` is its bedside time, if known."""

    id: str | None
    patient_id: str
    ward_id: str
    bed: str
    component: Component
    units: int
    volume_ml: float | None = None
    priority: Priority = Priority.ROUTINE
    not_before: datetime | None = None
    wanted_by: datetime | None = None
    max_rate_ml_h: float | None = None
    duration_minutes: int | None = None
    requirements: tuple[str, ...] = ()
    sample_taken_at: datetime | None = None
    nurse_id: str | None = None
    requested_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class Ordered:
    """An order with the episodes it gave, in sequence."""

    order: Order
    episode_ids: tuple[str, ...]


def open_order(session: WriteSession, actor: Actor, draft: OrderDraft, *, now: datetime) -> Ordered:
    """Place an order. The same draft with the same id again answers what is there.

    Raises `Forbidden`, `NotFound`, `Conflict`, `Invalid`.
    """
    require(actor, Act.ORDER, draft.ward_id)
    require_place(session, draft.patient_id, draft.ward_id, draft.bed)
    _require_sound(draft, now)
    present = read_order(session, draft.id) if draft.id is not None else None
    if present is not None:
        return _same(session, present, draft)
    order = _order(draft, actor, now)
    add_order(session, order)
    requests = [
        order.unit(n, requested_at=draft.requested_at, nurse_id=draft.nurse_id)
        for n in range(1, order.units + 1)
    ]
    keep_requests(session, requests, now=now)
    return Ordered(order, tuple(request.id for request in requests))


def list_orders(session: ReadSession, actor: Actor, ward_id: str) -> tuple[Ordered, ...]:
    """Answer the newest orders of a ward with their episodes."""
    require(actor, Act.READ, ward_id)
    return _ordered(session, orders_of_ward(session, ward_id))


def patients_of(session: ReadSession, ordered: Iterable[Ordered]) -> dict[str, Patient]:
    """Answer the patients of orders that the actor was shown, by their id."""
    return read_patients(session, {one.order.patient_id for one in ordered})


def _require_sound(draft: OrderDraft, now: datetime) -> None:
    require_within("units", draft.units, limits.UNITS)
    require_within("volume_ml", draft.volume_ml, limits.VOLUME_ML)
    require_within("duration_minutes", draft.duration_minutes, limits.DURATION_MINUTES)
    require_within("max_rate_ml_h", draft.max_rate_ml_h, (1, limits.RATE_ML_H[1]))
    require_sound(draft.requirements)
    for field in ("sample_taken_at", "requested_at"):
        instant = getattr(draft, field)
        if instant is not None:
            require_not_ahead(field, instant, now)
    if draft.not_before and draft.wanted_by and draft.wanted_by < draft.not_before:
        raise Invalid("wanted_by", "lies before not_before; expected it at or after")


def _order(draft: OrderDraft, actor: Actor, now: datetime) -> Order:
    return Order(
        id=draft.id or new_id(),
        patient_id=draft.patient_id,
        ward_id=draft.ward_id,
        bed=draft.bed,
        component=draft.component,
        units=draft.units,
        recorded_at=now,
        recorded_by=actor.id,
        volume_ml=draft.volume_ml,
        priority=draft.priority,
        not_before=draft.not_before,
        wanted_by=draft.wanted_by,
        max_rate_ml_h=draft.max_rate_ml_h,
        duration_minutes=draft.duration_minutes,
        requirements=draft.requirements,
        sample_taken_at=draft.sample_taken_at,
    )


def _same(session: ReadSession, present: Order, draft: OrderDraft) -> Ordered:
    """Answer what is there if it is what is asked for: an importer may run again."""
    kept = {field.name for field in fields(Order)}
    for name in (field.name for field in fields(draft)):
        if name in kept and getattr(present, name) != getattr(draft, name):
            raise Conflict(f"an order of this id exists with another {name}")
    return _ordered(session, [present])[0]


def _ordered(session: ReadSession, orders: Sequence[Order]) -> tuple[Ordered, ...]:
    episode_ids = episode_ids_of_orders(session, [order.id for order in orders])
    return tuple(Ordered(order, episode_ids[order.id]) for order in orders)
