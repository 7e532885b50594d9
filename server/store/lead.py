"""Who runs the jobs: the one process that holds the lead, for as long as it can be sure of it."""

import fcntl
import logging
from contextlib import suppress
from pathlib import Path
from threading import Lock
from time import monotonic
from typing import IO, Any, Final

from sqlalchemy import Engine
from sqlalchemy.exc import DBAPIError

from server.store.engines import own_connection

# Any fixed number will do that no other lock of the board has.
LEAD_KEY: Final = 4_400_002
SURE_SECONDS: Final = 0.5
"""For so long a look at the lock of a server stays good; every job asks."""

_LOG: Final = logging.getLogger(__name__)


class Lead:
    """The lead among the processes of one database; any number of threads may ask.

    Of a server it is a lock that a connection of its own holds: the server gives it to another
    when the process or the way to it is gone. Of a file it is a lock on the file beside it, which
    ends with its process. Should two processes ever both believe to have it, that does no harm.
    """

    def __init__(self, engine: Engine) -> None:
        is_file = engine.dialect.name == "sqlite"
        self._lock: _FileLock | _ServerLock = _FileLock(engine) if is_file else _ServerLock(engine)
        self._guard = Lock()
        self._had = False

    def held(self) -> bool:
        """Take the lead if nobody has it; False while another does, or the database is away."""
        with self._guard:
            has = self._lock.held()
            if has and not self._had:
                _LOG.info("this process runs the jobs")
            if self._had and not has:
                _LOG.warning("this process no longer runs the jobs: its connection is gone")
            self._had = has
            return has

    @property
    def was_held(self) -> bool:
        """Whether the last one to ask was told that this process has it."""
        return self._had

    def give_up(self) -> None:
        """Leave it to whoever asks next."""
        with self._guard:
            self._lock.release()
            self._had = False


class _FileLock:
    """A lock on a file beside the database, which the system takes back with the process."""

    def __init__(self, engine: Engine) -> None:
        self._file = Path(f"{engine.url.database}.lead")
        self._opened: IO[bytes] | None = None

    def held(self) -> bool:
        if self._opened is not None:
            return True
        opened = self._file.open("ab")
        try:
            fcntl.flock(opened, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            opened.close()
            return False
        self._opened = opened
        return True

    def release(self) -> None:
        if self._opened is not None:
            self._opened.close()
            self._opened = None


class _ServerLock:
    """An advisory lock of a session: whoever ends, or is cut off, has it no more."""

    def __init__(self, engine: Engine) -> None:
        self._engine = engine
        self._failures = (engine.dialect.loaded_dbapi.Error, DBAPIError)
        self._connection: Any = None
        self._held = False
        self._sure_at = 0.0

    def held(self) -> bool:
        if self._held and monotonic() - self._sure_at < SURE_SECONDS:
            return True
        try:
            if self._connection is None:
                self._connection = own_connection(self._engine)
            # The session answers, and with it the lock is there.
            question = "SELECT true" if self._held else f"SELECT pg_try_advisory_lock({LEAD_KEY})"
            self._held = bool(self._connection.execute(question).fetchone()[0])
            self._sure_at = monotonic()
        except self._failures:
            self.release()
        return self._held

    def release(self) -> None:
        if self._connection is None:
            return
        with suppress(*self._failures):
            if self._held:
                # A closed connection would give it back too, but a moment later.
                self._connection.execute(f"SELECT pg_advisory_unlock({LEAD_KEY})")
            self._connection.close()
        self._connection, self._held = None, False
