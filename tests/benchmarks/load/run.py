"""One run: programs that serve, boards that are open, facts that come, and what that took."""

import json
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from threading import Event, Thread
from typing import IO, Any, Final

from sqlalchemy import bindparam, select

from server.clock import utc_now
from server.store.store import Store
from server.store.tables import REMINDER
from tests.benchmarks.client import Connection, get
from tests.benchmarks.load.ground import Ground
from tests.benchmarks.servers import Server

QUIET_SECONDS: Final = 8.0
WARM_SECONDS: Final = 5.0
VITALS: Final = ("units_due_lag_seconds", "tick_age_seconds")
_OWED: Final = select(REMINDER.c.owed_at, REMINDER.c.raised_at).where(
    REMINDER.c.owed_at >= bindparam("since", type_=REMINDER.c.owed_at.type)
)


@dataclass(frozen=True, slots=True)
class Plan:
    """What load is given. `per_second` None: each client posts as soon as it was answered."""

    seconds: float
    per_second: float | None
    boards: int
    clients: int
    quiet_seconds: float = QUIET_SECONDS
    warm_seconds: float = WARM_SECONDS
    seed: int = 1


@dataclass(frozen=True, slots=True)
class Lateness:
    """The worst of a stretch of time, in seconds: ticks, what was due, reminders."""

    tick_age: float
    lag: float
    reminders: int
    reminder_delay: float


@dataclass(frozen=True, slots=True)
class Found:
    """What one run took. Times in seconds; `cpu` those of the processors by who spent them.

    `quiet` is the same for a second in which boards were open and nothing was recorded.
    """

    seconds: float
    posted: int
    in_time: int
    answered: list[float]
    seen: list[float]
    unseen: int
    refusals: int
    refused: list[str]
    cpu: dict[str, float]
    quiet: dict[str, float]
    before: Lateness
    during: Lateness
    megabytes: list[float] = field(default_factory=list)

    @property
    def a_second(self) -> float:
        """Facts answered a second."""
        return self.in_time / self.seconds

    @property
    def busy(self) -> float:
        """How many processors were busy with all of it."""
        return sum(spent for name, spent in self.cpu.items() if name != "turn") / self.seconds


def give(
    ground: Ground,
    plan: Plan,
    servers: Sequence[Server],
    address: str,
    spent: Mapping[str, Callable[[], float]],
) -> Found:
    """Give the load to servers that stand, and answer what it took.

    `spent` names whoever's processor time is to be told beside that of the load itself.
    """
    told = ground.told() | {
        "ports": [server.port for server in servers],
        "boards": plan.boards,
        "clients": plan.clients,
        "per_second": plan.per_second,
        "seconds": plan.seconds,
        "quiet_seconds": plan.quiet_seconds,
        "warm_seconds": plan.warm_seconds,
        "seed": plan.seed,
    }
    with _giver(told) as said, _watched(servers[0], ground.watching) as watched:
        _expect(said, "opened")
        watched.forget()
        opened_at, at_rest = utc_now(), _spent(spent)
        _expect(said, "warm")
        quiet = _since(at_rest, spent, plan.quiet_seconds)
        _expect(said, "begin")
        before = watched.worst(address, opened_at)
        watched.forget()
        begun_at, at_work = utc_now(), _spent(spent)
        _expect(said, "end")
        cpu = _since(at_work, spent)
        megabytes = [server.resident_mb() for server in servers]
        during = watched.worst(address, begun_at)
        found = json.loads(said.readline())
    cpu["load"] = found.pop("cpu_seconds")
    return Found(cpu=cpu, quiet=quiet, before=before, during=during, megabytes=megabytes, **found)


def _spent(spent: Mapping[str, Callable[[], float]]) -> dict[str, float]:
    return {name: of() for name, of in spent.items()}


def _since(
    before: Mapping[str, float], spent: Mapping[str, Callable[[], float]], seconds: float = 1.0
) -> dict[str, float]:
    return {name: (now - before[name]) / seconds for name, now in _spent(spent).items()}


@contextmanager
def _giver(told: Mapping[str, Any]) -> Iterator[IO[str]]:
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder, "plan.json")
        file.write_text(json.dumps(told), "utf-8")
        command = [sys.executable, "-m", "tests.benchmarks.load.giver", str(file)]
        with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as process:
            try:
                assert process.stdout is not None
                yield process.stdout
            finally:
                process.kill()


def _expect(said: IO[str], word: str) -> None:
    line = said.readline().strip()
    if line != word:
        raise AssertionError(f"whoever gives the load said {line!r} instead of {word!r}")


class Watched:
    """Asks a server for its vitals each second, and keeps the worst."""

    def __init__(self, port: int, token: str) -> None:
        self._port = port
        self._request = get("/metrics", {"Authorization": f"Bearer {token}"})
        self._over = Event()
        self._worst: dict[str, float] = {}
        self.thread = Thread(target=self._run, daemon=True)

    def forget(self) -> None:
        """Begin anew."""
        self._worst = {}

    def stop(self) -> None:
        """Ask no more."""
        self._over.set()
        self.thread.join()

    def worst(self, address: str, since: datetime) -> Lateness:
        """The worst so far, with the reminders that were owed since an instant."""
        store = Store(address)
        with store.read() as session:
            rows = session.rows(_OWED, {"since": since})
        store.close()
        delays = [(raised - owed).total_seconds() for owed, raised in rows]
        worst = self._worst
        return Lateness(
            tick_age=worst.get(VITALS[1], 0.0),
            lag=worst.get(VITALS[0], 0.0),
            reminders=len(delays),
            reminder_delay=max(delays, default=0.0),
        )

    def _run(self) -> None:
        with Connection(self._port) as connection:
            while not self._over.wait(0.5):
                answer = connection.ask(self._request)
                for line in answer.body.decode().splitlines():
                    name, _, value = line.removeprefix("fourth_hour_").partition(" ")
                    if name in VITALS:
                        self._worst[name] = max(self._worst.get(name, 0.0), float(value))


@contextmanager
def _watched(server: Server, token: str) -> Iterator[Watched]:
    watched = Watched(server.port, token)
    watched.thread.start()
    try:
        yield watched
    finally:
        with suppress(ConnectionError):
            watched.stop()
