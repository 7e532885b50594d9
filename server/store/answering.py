"""Connections to a PostgreSQL server that do not wait for ever for one that has stopped answering.

A server that stands still, or whose disk does, keeps its connections: nothing fails, and nobody
would be told anything. Only whoever waits can tell that it takes too long.
"""

from functools import cache
from time import monotonic
from typing import Any, Final

from sqlalchemy import Engine, event

ALONE_SECONDS: Final = 5.0
"""A question outside of a transaction is a quick one: whether the server is there, or a revision.

A pool asks it of each connection before it is used, and makes another one where none answers. The
two together must take no longer than whoever is in a transaction waits.
"""


def answer_within(engine: Engine, seconds: float, alone_seconds: float = ALONE_SECONDS) -> None:
    """Have a statement on this engine fail, as if the server were lost, after so many seconds.

    Outside of a transaction, after `alone_seconds` already. Its connection is closed. Whether it
    was done is not known: the server may do it yet.
    """

    def connect(_: Any, __: Any, arguments: Any, options: Any) -> Any:
        connection = _impatient().connect(*arguments, **options)
        connection.answer_seconds = seconds
        connection.alone_seconds = min(alone_seconds, seconds)
        return connection

    event.listen(engine, "do_connect", connect)


@cache
def _impatient() -> Any:
    """The class of connection, made where there is a driver to make it from."""
    from psycopg import Connection, OperationalError  # noqa: PLC0415 - a board on a file has none

    class Impatient(Connection[Any]):
        answer_seconds: float
        alone_seconds: float

        def wait(self, gen: Any, interval: float = 0.1, timeout: float | None = None) -> Any:
            """As the driver does it. What gives itself a time, such as listening, has that."""
            if timeout is not None:
                return super().wait(gen, interval, timeout)
            seconds = self.alone_seconds if self.autocommit else self.answer_seconds
            begun = monotonic()
            try:
                return super().wait(gen, interval, seconds)
            except OperationalError as failure:
                if monotonic() - begun < seconds:
                    raise
                self.pgconn.finish()
                message = f"no answer from the database within {seconds:g} s"
                raise OperationalError(message) from failure

    return Impatient
