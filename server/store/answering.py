"""Connections to a PostgreSQL server that do not wait for ever for one that has stopped answering.

A server that stands still, or whose disk does, keeps its connections: nothing fails, and nobody
would be told anything. Only whoever waits can tell that it takes too long.
"""

from functools import cache
from time import monotonic
from typing import Any

from sqlalchemy import Engine, event


def answer_within(engine: Engine, seconds: float) -> None:
    """Have a statement on this engine fail, as if the server were lost, after so many seconds.

    Its connection is closed. Whether it was done is not known: the server may do it yet.
    """

    def connect(_: Any, __: Any, arguments: Any, options: Any) -> Any:
        connection = _impatient().connect(*arguments, **options)
        connection.answer_seconds = seconds
        return connection

    event.listen(engine, "do_connect", connect)


@cache
def _impatient() -> Any:
    """The class of connection, made where there is a driver to make it from."""
    from psycopg import Connection, OperationalError  # noqa: PLC0415 - a board on a file has none

    class Impatient(Connection[Any]):
        answer_seconds: float

        def wait(self, gen: Any, interval: float = 0.1, timeout: float | None = None) -> Any:
            """As the driver does it. What gives itself a time, such as listening, has that."""
            if timeout is not None:
                return super().wait(gen, interval, timeout)
            begun = monotonic()
            try:
                return super().wait(gen, interval, self.answer_seconds)
            except OperationalError as failure:
                if monotonic() - begun < self.answer_seconds:
                    raise
                self.pgconn.finish()
                message = f"no answer from the database within {self.answer_seconds:g} s"
                raise OperationalError(message) from failure

    return Impatient
