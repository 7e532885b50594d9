"""Hears from a PostgreSQL server what other processes changed, as soon as they commit."""

import logging
from collections.abc import Callable
from threading import Event, Thread
from typing import Any, Final

from sqlalchemy import Engine
from sqlalchemy.exc import DBAPIError

from server.store.engines import own_connection
from server.store.sessions import CHANNEL, Change

LISTEN_SECONDS: Final = 1.0
"""After so long without news the connection is asked whether it is still there."""

Hear = Callable[[tuple[Change, ...]], None]

_LOG: Final = logging.getLogger(__name__)


class Bell:
    """One thread that tells `hear` of each change: the ward and its revision, nothing else.

    What was changed while the connection was lost is not told later: whoever hears looks for
    himself from time to time, as one has to on a file, where nothing rings at all.
    """

    def __init__(self, engine: Engine, hear: Hear) -> None:
        self._engine = engine
        self._failures = (engine.dialect.loaded_dbapi.Error, DBAPIError)
        self._hear = hear
        self._stopped = Event()
        self._thread: Thread | None = None
        self._failing = False

    def start(self) -> None:
        """Begin to listen; nothing to do for a file."""
        if self._engine.dialect.name == "postgresql":
            self._thread = Thread(target=self._run, name="bell", daemon=True)
            self._thread.start()

    def stop(self) -> None:
        """End the thread; nothing is told after this returns."""
        self._stopped.set()
        if self._thread is not None:
            self._thread.join()

    def _run(self) -> None:
        while not self._stopped.is_set():
            try:
                self._listen()
            except self._failures as failure:
                if not self._failing:
                    _LOG.warning("changes of others are heard late: %s", failure)
                self._failing = True
                self._stopped.wait(LISTEN_SECONDS)

    def _listen(self) -> None:
        connection: Any = own_connection(self._engine)
        with connection:
            connection.execute(f"LISTEN {CHANNEL}")
            self._failing = False
            while not self._stopped.is_set():
                for rung in connection.notifies(timeout=LISTEN_SECONDS, stop_after=1):
                    revision, _, ward_id = rung.payload.partition(" ")
                    self._hear((Change(ward_id, int(revision), frozenset()),))
                connection.execute("SELECT 1")
