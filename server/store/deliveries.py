"""The outbox: one row for each message to each webhook, written with the reminder it tells of."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final, NamedTuple

from sqlalchemy import and_, delete, func, or_, select, update

from server.domain.delivery import DeliveryState
from server.domain.words import ClockName, ClockState, Stage
from server.store.reminders import RaisedReminder
from server.store.sessions import AnyRow, ReadSession, WriteSession
from server.store.statements import columns_for, in_chunks, insert_if_absent, upsert, values_of
from server.store.tables import (
    CLOCK_STATE,
    DELIVERY,
    EPISODE_STATE,
    REMINDER,
    WARD,
    WEBHOOK,
)


@dataclass(frozen=True, slots=True)
class Delivery:
    """One message to one webhook, `reminder_id` None: a trial.

    Its id is what a receiver knows it by, the same on every try. Past `stale_at` it is given up.
    """

    id: str
    webhook_id: str
    reminder_id: str | None
    ward_id: str
    made_at: datetime
    stale_at: datetime
    next_at: datetime
    state: DeliveryState = DeliveryState.WAITING
    tries: int = 0
    tried_at: datetime | None = None
    answer: str | None = None
    ended_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class Told:
    """The reminder a message tells of, and how its clock stands; no `state`: it is gone."""

    id: str
    episode_id: str
    bed: str
    clock: ClockName
    n: int
    stage: Stage
    repeat: int
    owed_at: datetime
    raised_at: datetime
    to: str
    acknowledged_at: datetime | None
    acknowledged_by: str | None
    due_at: datetime | None
    limit_at: datetime | None
    state: ClockState | None


@dataclass(frozen=True, slots=True)
class Letter:
    """A delivery with all that its message says; `told` None: a trial."""

    delivery: Delivery
    ward_name: str
    timezone: str
    told: Told | None


class Sending(NamedTuple):
    """How a reminder went to the webhook of this name; `ended_at`: taken, or given up."""

    webhook: str
    state: DeliveryState
    ended_at: datetime | None


_DELIVERY: Final = DELIVERY.c
_WAITS: Final = _DELIVERY.state == DeliveryState.WAITING.value
_DELIVERIES: Final = select(*columns_for(DELIVERY, Delivery))
_OF_REMINDER: Final = (
    REMINDER.c.episode_id,
    EPISODE_STATE.c.bed,
    REMINDER.c.clock,
    REMINDER.c.n,
    REMINDER.c.stage,
    REMINDER.c.repeat,
    REMINDER.c.owed_at,
    REMINDER.c.raised_at,
    REMINDER.c.to,
    REMINDER.c.acknowledged_at,
    REMINDER.c.acknowledged_by,
    CLOCK_STATE.c.due_at,
    CLOCK_STATE.c.limit_at,
    CLOCK_STATE.c.state.label("clock_is"),
)
_SAME_CLOCK: Final = and_(
    CLOCK_STATE.c.episode_id == REMINDER.c.episode_id,
    CLOCK_STATE.c.clock == REMINDER.c.clock,
    CLOCK_STATE.c.n == REMINDER.c.n,
)
_LETTERS: Final = (
    select(*columns_for(DELIVERY, Delivery), WARD.c.name, WARD.c.timezone, *_OF_REMINDER)
    .join_from(DELIVERY, WARD, WARD.c.id == _DELIVERY.ward_id)
    .outerjoin(REMINDER, REMINDER.c.id == _DELIVERY.reminder_id)
    .outerjoin(EPISODE_STATE, EPISODE_STATE.c.episode_id == REMINDER.c.episode_id)
    .outerjoin(CLOCK_STATE, _SAME_CLOCK)
)
_OWN: Final = len(Delivery.__match_args__)
TAKES: Final = and_(
    WEBHOOK.c.paused_at.is_(None),
    WEBHOOK.c.off_at.is_(None),
    WEBHOOK.c.removed_at.is_(None),
)
"""Whether a webhook is on."""


def add_deliveries(session: WriteSession, deliveries: Sequence[Delivery]) -> None:
    """Put messages into the outbox; a webhook is told of a reminder by one message only."""
    if deliveries:
        rows = [values_of(one) for one in deliveries]
        session.run(insert_if_absent(session.engine_name, DELIVERY.name), rows)


def save_delivery(session: WriteSession, delivery: Delivery) -> None:
    """Keep a delivery as it now is."""
    session.run(upsert(session.engine_name, DELIVERY.name), values_of(delivery))


def read_delivery(session: ReadSession, delivery_id: str) -> Delivery | None:
    """One delivery, None if there is none of that id."""
    row = session.row(_DELIVERIES.where(_DELIVERY.id == delivery_id))
    return None if row is None else _delivery(row)


def webhooks_with_mail(session: ReadSession, now: datetime) -> frozenset[str]:
    """The webhooks that a message is to be sent to at `now`, whoever may be sending to them."""
    asked = (
        select(_DELIVERY.webhook_id)
        .distinct()
        .join_from(DELIVERY, WEBHOOK, WEBHOOK.c.id == _DELIVERY.webhook_id)
        .where(_WAITS, _DELIVERY.next_at <= now, TAKES)
        .where(or_(WEBHOOK.c.not_before.is_(None), WEBHOOK.c.not_before <= now))
    )
    return frozenset(row.webhook_id for row in session.rows(asked))


def letters_to(
    session: ReadSession, webhook_id: str, now: datetime, *, limit: int
) -> tuple[Letter, ...]:
    """What is to be sent to a webhook at `now`, the oldest first."""
    due = _LETTERS.where(_DELIVERY.webhook_id == webhook_id, _WAITS, _DELIVERY.next_at <= now)
    ordered = due.order_by(_DELIVERY.made_at, REMINDER.c.owed_at, _DELIVERY.id).limit(limit)
    return tuple(_letter(row) for row in session.rows(ordered))


def give_up_stale(session: WriteSession, now: datetime) -> int:
    """Give up what waits past its time, wherever it goes to; how many were."""
    late = update(DELIVERY).where(_WAITS, _DELIVERY.stale_at <= now)
    return session.run(late.values(state=DeliveryState.STALE.value, ended_at=now))


def is_anything_stale(session: ReadSession, now: datetime) -> bool:
    """Whether something waits past its time."""
    late = select(_DELIVERY.id).where(_WAITS, _DELIVERY.stale_at <= now).limit(1)
    return session.value(late) is not None


def drop_waiting(session: WriteSession, webhook_id: str, now: datetime) -> None:
    """Give up what waits for a webhook that is no more."""
    left = update(DELIVERY).where(_DELIVERY.webhook_id == webhook_id, _WAITS)
    session.run(left.values(state=DeliveryState.DROPPED.value, ended_at=now))


def letters_of(
    session: ReadSession, webhook_id: str, ward_ids: frozenset[str] | None, *, limit: int
) -> tuple[Letter, ...]:
    """The last messages to a webhook, of these wards (None: of all), the newest first."""
    of_it = _LETTERS.where(_DELIVERY.webhook_id == webhook_id)
    if ward_ids is not None:
        of_it = of_it.where(_DELIVERY.ward_id.in_(sorted(ward_ids)))
    newest = of_it.order_by(_DELIVERY.made_at.desc(), _DELIVERY.id).limit(limit)
    return tuple(_letter(row) for row in session.rows(newest))


def sendings_of(
    session: ReadSession, ward_id: str, reminders: Iterable[RaisedReminder]
) -> dict[str, tuple[Sending, ...]]:
    """How these reminders of a ward went to webhooks, by reminder id; what is forgotten is not."""
    wanted = {one.id: one.raised_at for one in reminders}
    if not wanted:
        return {}
    # A message is made with its reminder: the time of making is what an index knows.
    between = _DELIVERY.made_at.between(min(wanted.values()), max(wanted.values()))
    asked = (
        select(_DELIVERY.reminder_id, WEBHOOK.c.name, _DELIVERY.state, _DELIVERY.ended_at)
        .join_from(DELIVERY, WEBHOOK, WEBHOOK.c.id == _DELIVERY.webhook_id)
        .where(between, _DELIVERY.ward_id == ward_id, _DELIVERY.reminder_id.is_not(None))
        .order_by(WEBHOOK.c.name, _DELIVERY.id)
    )
    found: dict[str, list[Sending]] = {}
    for reminder_id, name, state, ended_at in session.rows(asked):
        if reminder_id in wanted:
            found.setdefault(reminder_id, []).append(Sending(name, DeliveryState(state), ended_at))
    return {reminder_id: tuple(sent) for reminder_id, sent in found.items()}


def count_deliveries(
    session: ReadSession, webhook_ids: Iterable[str], since: datetime
) -> dict[str, dict[DeliveryState, int]]:
    """How many messages to each webhook, made since an instant, stand how."""
    counted: dict[str, dict[DeliveryState, int]] = {}
    for chunk in in_chunks(sorted(set(webhook_ids))):
        asked = (
            select(_DELIVERY.webhook_id, _DELIVERY.state, func.count())
            .where(_DELIVERY.webhook_id.in_(chunk), _DELIVERY.made_at >= since)
            .group_by(_DELIVERY.webhook_id, _DELIVERY.state)
        )
        for webhook_id, state, number in session.rows(asked):
            counted.setdefault(webhook_id, {})[DeliveryState(state)] = number
    return counted


def forget_deliveries(session: WriteSession, before: datetime) -> int:
    """Delete deliveries that were made before an instant and wait no more; how many went."""
    return session.run(delete(DELIVERY).where(_DELIVERY.made_at < before, ~_WAITS))


def forget_deliveries_of(session: WriteSession, reminder_ids: Sequence[str]) -> None:
    """Delete what was to be told, or was told, of reminders that are raised once more."""
    if reminder_ids:
        session.run(delete(DELIVERY).where(_DELIVERY.reminder_id.in_(reminder_ids)))


def _delivery(row: Sequence[Any]) -> Delivery:
    facts = dict(zip(Delivery.__match_args__, row, strict=True))
    return Delivery(**facts | {"state": DeliveryState(facts["state"])})


def _letter(row: AnyRow) -> Letter:
    delivery, (ward_name, timezone, *rest) = _delivery(row[:_OWN]), row[_OWN:]
    return Letter(delivery, ward_name, timezone, _told(delivery.reminder_id, rest))


def _told(reminder_id: str | None, rest: Sequence[Any]) -> Told | None:
    if reminder_id is None:
        return None
    facts = dict(zip(Told.__match_args__[1:], rest, strict=True))
    facts["clock"], facts["stage"] = ClockName(facts["clock"]), Stage(facts["stage"])
    facts["state"] = None if facts["state"] is None else ClockState(facts["state"])
    return Told(id=reminder_id, **facts)
