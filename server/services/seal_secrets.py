"""Seal what was stored in the clear before there was a key to seal it with."""

from server.store.idempotency import forget_secrets
from server.store.store import Store
from server.store.webhooks import save_webhook, webhooks_in_clear


def seal_secrets(store: Store) -> int:
    """Seal the secrets of webhooks that stand in the clear; how many webhooks had one.

    Done at each start: a board that was never upgraded by half has nothing left here.
    """
    with store.read() as session:
        if store.vault.key is None or not webhooks_in_clear(session):
            return 0
    with store.write() as session:
        found = webhooks_in_clear(session)
        for webhook in found:
            save_webhook(session, webhook)
        forget_secrets(session)
    return len(found)
