"""A PostgreSQL server that is taken away, or stands still, and comes back."""

import os
import signal
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any, Final

from tests.databases import PostgresServer

OUTAGE_SECONDS: Final = "OUTAGE_SECONDS"
"""The variable that says for how many seconds it is gone."""


@contextmanager
def gone(postgres: PostgresServer) -> Iterator[None]:
    """Every process of the server ends at once; it is started again at the end."""
    server: Any = postgres._server
    signal_all(postgres, signal.SIGKILL)
    try:
        yield
    finally:
        # What a server that was killed leaves behind would look like one that is running.
        (Path(server.pgdata) / "postmaster.pid").unlink(missing_ok=True)
        server.ensure_postgres_running()


@contextmanager
def still(postgres: PostgresServer) -> Iterator[None]:
    """Every process of the server stands still; its connections stay, and nothing is answered."""
    stopped = signal_all(postgres, signal.SIGSTOP)
    try:
        yield
    finally:
        for process in stopped:
            with suppress(ProcessLookupError):
                os.kill(process, signal.SIGCONT)


def signal_all(postgres: PostgresServer, number: signal.Signals) -> list[int]:
    """Signal every process of the server; which those were.

    The server first: it would end the others if one of them ended.
    """
    found = _processes(postgres)
    for process in found:
        with suppress(ProcessLookupError):
            os.kill(process, number)
    return found


def _processes(postgres: PostgresServer) -> list[int]:
    import psutil  # type: ignore[import-untyped]  # noqa: PLC0415 - it comes with the wheel

    first = psutil.Process(postgres._server.get_pid())
    return [first.pid, *(process.pid for process in first.children(recursive=True))]
