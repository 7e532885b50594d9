"""Connections of one engine, kept open from one transaction to the next."""

from collections import deque
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Final

from sqlalchemy import Connection, Engine

MOST_IDLE: Final = 8


class Connections:
    """Hands out transactions, as many at once as are asked for.

    A connection to a file is kept for the next one, which halves the cost of a small transaction.
    A server may be gone by then: there the pool looks first, each time.
    """

    def __init__(self, engine: Engine) -> None:
        self._engine = engine
        self._most = MOST_IDLE if engine.dialect.name == "sqlite" else 0
        self._idle: deque[Connection] = deque()

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
        if len(self._idle) < self._most:
            self._idle.append(connection)
        else:
            connection.close()

    def close(self) -> None:
        """Give the idle connections back; the next transaction opens another."""
        while self._idle:
            self._idle.pop().close()

    def _take(self) -> Connection:
        try:
            return self._idle.pop()
        except IndexError:
            return self._engine.connect()
