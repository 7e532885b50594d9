"""The door to the database: opens sessions, and tells others what each commit changed."""

import logging
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Final

from server.domain.site import NO_SITE, Site
from server.store.connections import Connections
from server.store.engines import PATIENCE_SECONDS, Engines, open_engines
from server.store.failures import told_plainly
from server.store.fair_lock import FairLock
from server.store.lead import Lead
from server.store.revisions import Revisions
from server.store.sessions import Change, ReadSession, WriteSession
from server.store.vault import NO_VAULT, Vault

Listener = Callable[[tuple[Change, ...]], None]

_LOG: Final = logging.getLogger(__name__)


class Store:
    """One database at an SQLAlchemy address. One Store for a process: it holds the write lock.

    Raises `Away` from any session when the database is lost, locked or full, `Clash` when a
    write meets a row of the same identity or misses the one it refers to. `site`, to be set by
    whoever read the site's files, is what they say; `vault`, to be set by whoever read the board's
    key, opens what is stored sealed; every session hands both on.
    """

    def __init__(self, address: str, *, patience_seconds: int = PATIENCE_SECONDS) -> None:
        self.address: Final = address
        self.site: Site = NO_SITE
        self.vault: Vault = NO_VAULT
        self.engines: Final[Engines] = open_engines(address, patience_seconds=patience_seconds)
        self._patience_seconds = patience_seconds
        self._writer = FairLock()
        self._reading = Connections(self.engines.reading)
        self._writing = Connections(self.engines.writing)
        self._listeners: list[Listener] = []
        self._revisions = Revisions(self.engines)
        self.lead: Final = Lead(self.engines.reading)
        """Whether this process runs the jobs."""

    @contextmanager
    def read(self) -> Iterator[ReadSession]:
        """One snapshot, from the first query on."""
        with told_plainly(), self._reading.transaction() as connection:
            yield ReadSession(connection, self.site, self.vault)

    @contextmanager
    def write(self) -> Iterator[WriteSession]:
        """The only write transaction of the moment: commits on a clean exit, else rolls back.

        Waits its turn behind the writers that came before. Never open one inside another.
        """
        with self._writer.turn(self._patience_seconds):
            with told_plainly(), self._writing.transaction() as connection:
                session = WriteSession(connection, self.site, self.vault)
                yield session
                changes = session.stamp_changes()
            # Told before the next writer gets its turn: listeners hear revisions in order.
            self._tell(changes)

    def on_commit(self, listener: Listener) -> None:
        """Have `listener` called after each commit that touched a ward.

        It runs in the thread that wrote, before the next write: it must be quick, and not write.
        """
        self._listeners.append(listener)

    def ward_revision(self, ward_id: str) -> int | None:
        """How many commits have changed a ward's board; a few microseconds on SQLite."""
        return self._revisions.of_ward(ward_id)

    def close(self) -> None:
        """Close all connections; a session opened later opens new ones."""
        self.lead.give_up()
        self._revisions.close()
        self._reading.close()
        self._writing.close()
        self.engines.dispose()

    def _tell(self, changes: tuple[Change, ...]) -> None:
        for listener in self._listeners if changes else ():
            try:
                listener(changes)
            except Exception:  # noqa: BLE001 - stored is stored: it must not look refused
                _LOG.exception("a listener failed on %s", changes)
