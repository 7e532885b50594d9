"""Keep when each token was used last: once in a quarter of an hour, after it was answered."""

import logging
from datetime import datetime, timedelta
from threading import Lock
from typing import Final

from server.services.fault_words import fault_words
from server.store.store import Store
from server.store.tokens import note_used

ONCE_IN: Final = timedelta(minutes=15)

_LOG: Final = logging.getLogger(__name__)


class TokenUses:
    """The uses that one process has kept; a program that asks each second costs no write."""

    def __init__(self, store: Store) -> None:
        self._store = store
        self._guard = Lock()
        self._kept: dict[str, datetime] = {}

    def see(self, token_id: str, now: datetime) -> bool:
        """Take note of a use; whether it is to be written now."""
        with self._guard:
            last = self._kept.get(token_id)
            if last is not None and last <= now < last + ONCE_IN:
                return False
            self._kept[token_id] = now
        return True

    def write(self, token_id: str, now: datetime) -> None:
        """Write a use. Never raises: a database that cannot be written keeps nobody from asking."""
        try:
            with self._store.write() as session:
                note_used(session, token_id, now)
        except Exception as failure:  # noqa: BLE001 - the use was answered; a later one is written
            _LOG.warning("the use of a token was not kept: %s", fault_words(failure))
