"""What was sent to a webhook: the last messages, how many stand how; one more try, and a trial."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Final

from server.domain.audit import AuditAct
from server.domain.delivery import DeliveryState
from server.services.actor import Actor
from server.services.enter_ward import read_ward_policy
from server.services.enter_webhook import note_webhook, read_webhook, webhook_to_change
from server.services.errors import Conflict, NotFound
from server.services.permissions import Act, require
from server.store import deliveries as stored
from server.store.deliveries import Delivery, Letter
from server.store.ids import new_id
from server.store.sessions import ReadSession, WriteSession
from server.store.webhooks import Webhook

LISTED: Final = 50
COUNTED_FOR: Final = timedelta(hours=24)

Counts = Mapping[DeliveryState, int]


@dataclass(frozen=True, slots=True)
class Outbox:
    """A webhook, its last messages, the newest first, and how many of a day stand how."""

    webhook: Webhook
    letters: tuple[Letter, ...]
    counts: Counts


def list_deliveries(
    session: ReadSession, actor: Actor, webhook_id: str, *, now: datetime
) -> Outbox:
    """Answer what was sent to a webhook, of the actor's wards. Raises `NotFound`, `Forbidden`."""
    webhook = read_webhook(session, actor, webhook_id)
    letters = stored.letters_of(session, webhook_id, actor.wards, limit=LISTED)
    counts = count_deliveries(session, [webhook], now=now)
    return Outbox(webhook, letters, counts[webhook_id])


def count_deliveries(
    session: ReadSession, webhooks: Iterable[Webhook], *, now: datetime
) -> dict[str, Counts]:
    """Answer how many messages of the last day stand how, by webhook."""
    ids = [one.id for one in webhooks]
    counted = stored.count_deliveries(session, ids, now - COUNTED_FOR)
    return {webhook_id: counted.get(webhook_id, {}) for webhook_id in ids}


def send_again(
    session: WriteSession, actor: Actor, webhook_id: str, delivery_id: str, *, now: datetime
) -> Delivery:
    """Have a message sent once more under the identity it had.

    Raises `NotFound`, `Forbidden`, and `Conflict` while it waits anyway.
    """
    webhook = webhook_to_change(session, actor, webhook_id)
    delivery = stored.read_delivery(session, delivery_id)
    if delivery is None or delivery.webhook_id != webhook_id:
        raise NotFound("the message")
    if delivery.state is DeliveryState.WAITING:
        raise Conflict("it waits to be sent")
    again = replace(
        delivery,
        state=DeliveryState.WAITING,
        stale_at=_stale_at(session, delivery.ward_id, now),
        next_at=now,
        ended_at=None,
    )
    stored.save_delivery(session, again)
    note_webhook(session, actor, AuditAct.WEBHOOK_CHANGED, webhook, now=now, did="sent again")
    return again


def send_trial(
    session: WriteSession, actor: Actor, webhook_id: str, ward_id: str, *, now: datetime
) -> Delivery:
    """Put a message that tells of nothing into the outbox.

    Raises `NotFound`, `Forbidden`, and `Conflict` where nothing is sent.
    """
    webhook = webhook_to_change(session, actor, webhook_id)
    require(actor, Act.SET_UP, ward_id)
    if not webhook.is_sending:
        raise Conflict("nothing is sent there just now")
    trial = Delivery(
        id=new_id(),
        webhook_id=webhook_id,
        reminder_id=None,
        ward_id=ward_id,
        made_at=now,
        stale_at=_stale_at(session, ward_id, now),
        next_at=now,
    )
    stored.add_deliveries(session, [trial])
    note_webhook(session, actor, AuditAct.WEBHOOK_CHANGED, webhook, now=now, did="trial")
    return trial


def _stale_at(session: ReadSession, ward_id: str, now: datetime) -> datetime:
    return now + read_ward_policy(session, ward_id, now=now).reminders_deliver
