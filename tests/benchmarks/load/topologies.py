"""Which processes serve a database under load, and what each of them costs."""

from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from pathlib import Path
from threading import Event, Thread
from time import monotonic, sleep
from typing import Any, Final, Self

from sqlalchemy import make_url

from server.store.engines import WRITER_KEY
from tests.benchmarks.client import Connection, get
from tests.benchmarks.load.shares import at_most
from tests.benchmarks.servers import Server, board_server

AT_REST_SECONDS: Final = 60.0
LOOK_SECONDS: Final = 0.02
_TAKEN: Final = "SELECT count(*) FROM pg_locks WHERE objid = %s AND granted"


@dataclass(frozen=True, slots=True)
class Serving:
    """Processes that answer, and whose processor time is to be told."""

    web: tuple[Server, ...]
    spent: dict[str, Callable[[], float]]


@contextmanager
def serving(
    address: str,
    key: Path,
    *,
    processes: int = 1,
    watching: str,
    worker: bool = False,
    share: float | None = None,
) -> Iterator[Serving]:
    """So many web processes; with a `worker` none of them runs the jobs. Yields once all rest.

    `share` is what each of the web processes may take of a processor from then on, None: as much
    as it gets.
    """
    own = {"FOURTH_HOUR_KEY_FILE": str(key)}
    web_only = own | ({"FOURTH_HOUR_JOBS": "no"} if worker else {})
    with ExitStack() as opened:
        spent: dict[str, Callable[[], float]] = {}
        if worker:
            spent["worker"] = opened.enter_context(
                board_server(address, own, alone=False)
            ).cpu_seconds
        web = [
            opened.enter_context(board_server(address, web_only, alone=False))
            for _ in range(processes)
        ]
        spent["web"] = lambda: sum(one.cpu_seconds() for one in web)
        _until_at_rest(web[0], watching)
        if share is not None:
            for one in web:
                opened.enter_context(at_most(one.process_id, share))
        yield Serving(tuple(web), spent)


def _until_at_rest(server: Server, watching: str) -> None:
    """Wait until ticks have caught up with what came due while nobody served."""
    until = monotonic() + AT_REST_SECONDS
    request = get("/metrics", {"Authorization": f"Bearer {watching}"})
    with Connection(server.port) as connection:
        while monotonic() < until:
            said = connection.ask(request).body.decode()
            if "\nfourth_hour_units_due 0.0\n" in said and "tick_age_seconds" in said:
                return
            sleep(0.2)
    raise TimeoutError("the ticks do not catch up")


class WriterTurn:
    """For how long somebody has held the one turn to write, looked at fifty times a second."""

    def __init__(self, address: str) -> None:
        self._address = make_url(address).set(drivername="postgresql")
        self._seconds = 0.0
        self._over = Event()
        self._thread = Thread(target=self._run, daemon=True)

    def __enter__(self) -> Self:
        self._thread.start()
        return self

    def __exit__(self, *_: object) -> None:
        self._over.set()
        self._thread.join()

    def seconds(self) -> float:
        """So far."""
        return self._seconds

    def _run(self) -> None:
        import psycopg  # noqa: PLC0415 - only where there is a PostgreSQL

        given = self._address.render_as_string(hide_password=False)
        with psycopg.connect(given, autocommit=True) as connection:
            before = monotonic()
            while not self._over.wait(LOOK_SECONDS):
                row: Any = connection.execute(_TAKEN, [WRITER_KEY]).fetchone()
                now = monotonic()
                self._seconds += now - before if row[0] else 0.0
                before = now
