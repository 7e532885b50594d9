"""How the webhooks of all wards stand, for whoever keeps the program running."""

from server.domain.encoding import write_instant
from server.store.sessions import ReadSession
from server.store.webhooks import Webhook, list_webhooks


def say_webhooks(session: ReadSession) -> tuple[str, ...]:
    """Answer a line for each webhook, by name; where none was entered, none."""
    return tuple(f"{one.name}: {_standing(one)}" for one in list_webhooks(session))


def _standing(webhook: Webhook) -> str:
    if webhook.off_at is not None:
        return f"OFF since {write_instant(webhook.off_at)}, {webhook.off_why}"
    if webhook.paused_at is not None:
        return f"paused since {write_instant(webhook.paused_at)}"
    return "on"
