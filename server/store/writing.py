"""The connection that writes."""

from collections.abc import Iterator
from contextlib import contextmanager

from sqlalchemy import Connection, Engine


class Writing:
    """Hands out one transaction at a time; whoever asks holds the write lock.

    A file's connection is kept from one write to the next, which halves the cost of a small one.
    A server may be gone by then: there the pool looks first, each time.
    """

    def __init__(self, engine: Engine) -> None:
        self._engine = engine
        self._keeps = engine.dialect.name == "sqlite"
        self._kept: Connection | None = None

    @contextmanager
    def transaction(self) -> Iterator[Connection]:
        """Commits on a clean exit, else rolls back; after a failure the next one connects anew."""
        connection, self._kept = self._kept or self._engine.connect(), None
        try:
            with connection.begin():
                yield connection
        except BaseException:
            connection.close()
            raise
        if self._keeps:
            self._kept = connection
        else:
            connection.close()

    def close(self) -> None:
        """Give the connection back; the next write opens another."""
        kept, self._kept = self._kept, None
        if kept is not None:
            kept.close()
