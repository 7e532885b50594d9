"""One webhook as it is shown, whatever was just done to it."""

from collections.abc import Mapping
from typing import Any, Final
from zoneinfo import ZoneInfo

from fastapi import Response

from server.pages.forms.entry import Wrong
from server.pages.links import ward_href
from server.pages.rendering import page
from server.pages.setup_screen import Screen
from server.pages.webhook_view import Glance, WebhookView, letter_views, webhook_view
from server.services.enter_ward import list_wards
from server.services.enter_webhook import may_change, read_webhook
from server.services.errors import NotFound
from server.services.list_deliveries import Counts, list_deliveries
from server.store.sessions import ReadSession
from server.store.webhooks import Webhook

NAME: Final = "webhooks"


def webhook_page(
    screen: Screen, webhook_id: str, *, secret: str = "", wrong: Wrong | None = None
) -> Response:
    """Answer the page of a webhook; a `secret` is shown on no other page than this one."""
    setting = screen.setting()
    return page(
        "webhooks/webhook.html",
        status=wrong.status if wrong else 200,
        head=screen.head(setting),
        secret=secret,
        errors=wrong.errors if wrong else {},
        list_href=ward_href(screen.ward_id or "", NAME),
        **webhook_shown(screen, webhook_id, setting.zone),
    )


def webhook_shown(screen: Screen, webhook_id: str, zone: ZoneInfo) -> dict[str, Any]:
    """A webhook of the ward with its messages, as the page and its part show it."""
    with screen.store.read() as session:
        webhook = _of_ward(session, screen, webhook_id)
        outbox = list_deliveries(session, screen.visitor.actor, webhook_id, now=screen.now)
        (view,) = views_of(session, screen, zone, {webhook: outbox.counts})
    glance = _glance(screen, webhook, zone)
    return {
        "webhook": view,
        "changes": glance.changes,
        "letters": letter_views(outbox, glance),
        "waiting": any(one.delivery.ended_at is None for one in outbox.letters),
        "csrf_token": screen.visitor.csrf_token,
    }


def views_of(
    session: ReadSession, screen: Screen, zone: ZoneInfo, webhooks: Mapping[Webhook, Counts]
) -> tuple[WebhookView, ...]:
    """Answer webhooks, each with its counts, as whoever looks may see them."""
    names = {one.id: one.name for one in list_wards(session, screen.visitor.actor)}
    return tuple(
        webhook_view(webhook, counts, names, _glance(screen, webhook, zone))
        for webhook, counts in webhooks.items()
    )


def _of_ward(session: ReadSession, screen: Screen, webhook_id: str) -> Webhook:
    webhook = read_webhook(session, screen.visitor.actor, webhook_id)
    if not webhook.is_of(screen.ward_id or ""):
        raise NotFound("the webhook")
    return webhook


def _glance(screen: Screen, webhook: Webhook, zone: ZoneInfo) -> Glance:
    changes = may_change(screen.visitor.actor, webhook)
    return Glance(zone, screen.now, screen.ward_id or "", changes)
