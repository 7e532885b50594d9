"""Webhooks and their messages, as answered."""

from typing import Literal

from server.api.fields import Given
from server.api.instants import Moment
from server.domain.delivery import DeliveryState
from server.domain.words import Stage
from server.services.webhook_address import host_of
from server.store.deliveries import Delivery
from server.store.webhooks import Webhook


class WebhookAnswer(Given):
    """A webhook. `address` is the host alone for whoever may not change it.

    `off_why` says why it was turned off: nothing is sent until its state is set to `on`.
    """

    id: str
    name: str
    address: str
    stages: list[Stage]
    wards: list[str] | None
    state: Literal["on", "paused", "off"]
    since_at: Moment | None
    off_why: str | None


class WebhookMade(WebhookAnswer):
    """A webhook with its secret, where that is new: it is answered this once."""

    secret: str | None


class MessageAnswer(Given):
    """A message; its id is the `webhook-id` of every try. `reminder_id` null: a trial."""

    id: str
    reminder_id: str | None
    ward_id: str
    made_at: Moment
    stale_at: Moment
    state: DeliveryState
    tries: int
    next_at: Moment
    tried_at: Moment | None
    answer: str | None
    ended_at: Moment | None


class WebhookStateAnswer(Given):
    """How a webhook stands from now on."""

    id: str
    state: Literal["on", "paused", "removed"]


def webhook_answer(webhook: Webhook, *, whole: bool) -> WebhookAnswer:
    """A webhook, `whole` for whoever may change it."""
    return WebhookAnswer(
        id=webhook.id,
        name=webhook.name,
        address=webhook.address if whole else host_of(webhook.address),
        stages=[stage for stage in Stage if stage in webhook.stages],
        wards=None if webhook.wards is None else sorted(webhook.wards),
        state="off" if webhook.off_at else "paused" if webhook.paused_at else "on",
        since_at=webhook.off_at or webhook.paused_at,
        off_why=webhook.off_why,
    )


def webhook_made(webhook: Webhook, *, is_new: bool) -> WebhookMade:
    """A webhook, with its secret where that is new."""
    facts = webhook_answer(webhook, whole=True).model_dump()
    return WebhookMade(**facts, secret=webhook.secret if is_new else None)


def message_answer(delivery: Delivery) -> MessageAnswer:
    """A message and how its delivery stands."""
    names = MessageAnswer.model_fields
    return MessageAnswer(**{name: getattr(delivery, name) for name in names})
