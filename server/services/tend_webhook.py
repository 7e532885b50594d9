"""Pause a webhook, have it go on, give it another secret, remove it."""

from dataclasses import replace
from datetime import datetime, timedelta
from typing import Final

from server.domain.audit import AuditAct
from server.services.actor import Actor
from server.services.enter_webhook import new_webhook_secret, note_webhook, webhook_to_change
from server.store.deliveries import drop_waiting
from server.store.sessions import WriteSession
from server.store.webhooks import Webhook, save_webhook

BOTH_SIGN_FOR: Final = timedelta(hours=24)


def pause_webhook(session: WriteSession, actor: Actor, webhook_id: str, *, now: datetime) -> None:
    """Send nothing there from now on; messages wait, each until it is stale.

    Raises `NotFound`, `Forbidden`, as do all here.
    """
    webhook = webhook_to_change(session, actor, webhook_id)
    if webhook.paused_at is None:
        _keep(session, actor, replace(webhook, paused_at=now), "paused", now)


def resume_webhook(session: WriteSession, actor: Actor, webhook_id: str, *, now: datetime) -> None:
    """Send again, after a pause or after it was turned off; what waits is sent first."""
    webhook = webhook_to_change(session, actor, webhook_id)
    going = replace(webhook, paused_at=None, off_at=None, off_why=None, refusals=0, not_before=None)
    if going != webhook:
        _keep(session, actor, going, "resumed", now)


def rotate_secret(session: WriteSession, actor: Actor, webhook_id: str, *, now: datetime) -> str:
    """Answer a new secret, shown this once; for a day the one before it signs beside it."""
    webhook = webhook_to_change(session, actor, webhook_id)
    secret, until = new_webhook_secret(), now + BOTH_SIGN_FOR
    turned = replace(webhook, secret=secret, old_secret=webhook.secret, old_secret_until=until)
    _keep(session, actor, turned, "secret changed", now)
    return secret


def remove_webhook(session: WriteSession, actor: Actor, webhook_id: str, *, now: datetime) -> None:
    """Send nothing there any more; what waits is dropped, and its secret forgotten."""
    webhook = webhook_to_change(session, actor, webhook_id)
    gone = replace(webhook, removed_at=now, secret="", old_secret=None, old_secret_until=None)
    save_webhook(session, gone)
    drop_waiting(session, webhook_id, now)
    note_webhook(session, actor, AuditAct.WEBHOOK_REVOKED, gone, now=now)


def _keep(session: WriteSession, actor: Actor, webhook: Webhook, did: str, now: datetime) -> None:
    save_webhook(session, webhook)
    note_webhook(session, actor, AuditAct.WEBHOOK_CHANGED, webhook, now=now, did=did)
