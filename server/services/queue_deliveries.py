"""Put reminders into the outbox of every webhook that is to be told, as they are raised."""

from collections.abc import Iterable, Mapping
from datetime import datetime, timedelta

from server.domain.picture import Picture
from server.store.deliveries import Delivery, add_deliveries
from server.store.ids import new_id
from server.store.reminders import RaisedReminder
from server.store.sessions import WriteSession
from server.store.webhooks import Webhook, list_webhooks


def queue_deliveries(
    session: WriteSession,
    raised: Iterable[RaisedReminder],
    pictures: Iterable[Picture],
    *,
    now: datetime,
) -> None:
    """Write the messages of reminders in the transaction that raises them: both, or neither.

    A webhook that is paused or turned off has them wait, until each is stale by its ward's policy.
    """
    told = tuple(raised)
    webhooks = list_webhooks(session) if told else ()
    if webhooks:
        within = {one.case.request.id: one.standing.policy.reminders_deliver for one in pictures}
        addressed = (_to_all(one, webhooks, within, now) for one in told)
        add_deliveries(session, [delivery for each in addressed for delivery in each])


def _to_all(
    reminder: RaisedReminder,
    webhooks: Iterable[Webhook],
    within: Mapping[str, timedelta],
    now: datetime,
) -> Iterable[Delivery]:
    for webhook in webhooks:
        if reminder.stage in webhook.stages and webhook.is_of(reminder.ward_id):
            yield Delivery(
                id=new_id(),
                webhook_id=webhook.id,
                reminder_id=reminder.id,
                ward_id=reminder.ward_id,
                made_at=now,
                stale_at=now + within[reminder.episode_id],
                next_at=now,
            )
