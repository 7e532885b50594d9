"""Connections of one engine, kept open from one transaction to the next."""

from collections import deque
from collections.abc import Iterator
from contextlib import contextmanager
from select import POLLIN, poll
from time import monotonic
from typing import Any, Final

from sqlalchemy import Connection, Engine

MOST_IDLE: Final = 8
REST_SECONDS: Final = 1.0


class Connections:
    """Hands out transactions, as many at once as are asked for.

    A connection to a file is kept for the next one, which halves the cost of a small transaction.
    A server may be gone by then: what has rested, or was told anything meanwhile, goes back to the
    pool, which looks first.
    """

    def __init__(self, engine: Engine) -> None:
        self._engine = engine
        self._is_file = engine.dialect.name == "sqlite"
        self._idle: deque[tuple[Connection, float]] = deque()

    @contextmanager
    def transaction(self) -> Iterator[Connection]:
        """Commits on a clean exit, else rolls back; a connection that failed is not used again."""
        connection = self._take()
        try:
            with connection.begin():
                yield connection
        except BaseException:
            connection.close()
            raise
        if len(self._idle) < MOST_IDLE:
            self._idle.append((connection, monotonic()))
        else:
            connection.close()

    def close(self) -> None:
        """Give the idle connections back; the next transaction opens another."""
        while self._idle:
            self._idle.pop()[0].close()

    def _take(self) -> Connection:
        """The connection that was used last: of those below it none is fresher."""
        while True:
            try:
                connection, since = self._idle.pop()
            except IndexError:
                return self._engine.connect()
            if self._is_file or (monotonic() - since <= REST_SECONDS and not _is_told(connection)):
                return connection
            connection.close()


def _is_told(connection: Connection) -> bool:
    """Whether a server has said something that nobody asked for: mostly that it hangs up."""
    driver: Any = connection.connection.driver_connection
    looking = poll()
    looking.register(driver.fileno(), POLLIN)
    return bool(looking.poll(0))
