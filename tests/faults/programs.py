"""The program itself, on a real file: started, asked, killed."""

import json
import os
import signal
import subprocess
import sys
from collections.abc import Iterator
from contextlib import closing, contextmanager, suppress
from dataclasses import dataclass
from http.client import HTTPConnection, HTTPException
from pathlib import Path
from time import monotonic, sleep
from typing import Final

from tests.ports import free_port

PROGRAM: Final = (sys.executable, "-m", "server.cli")
PATIENCE_SECONDS: Final = 120.0


def address_of(database: Path | str) -> str:
    """The address of a file, or of what has one."""
    return f"sqlite:///{database}" if isinstance(database, Path) else database


def environment_for(database: Path | str) -> dict[str, str]:
    """The environment of a program on a database."""
    return os.environ | {"FOURTH_HOUR_DATABASE": address_of(database)}


def variables(settings: dict[str, str]) -> dict[str, str]:
    """The variables of the environment that stand for these settings."""
    return {f"FOURTH_HOUR_{name.upper()}": text for name, text in settings.items()}


def check_program(database: Path | str) -> "subprocess.CompletedProcess[str]":
    """Have the program check itself; what it found."""
    return subprocess.run(
        [*PROGRAM, "check"],
        env=environment_for(database),
        capture_output=True,
        text=True,
        check=False,
        timeout=PATIENCE_SECONDS,
    )


def run_program(database: Path | str, *arguments: str) -> str:
    """Run a command to its end; what it printed."""
    done = subprocess.run(
        [*PROGRAM, *arguments],
        env=environment_for(database),
        capture_output=True,
        text=True,
        check=True,
        timeout=PATIENCE_SECONDS,
    )
    return done.stdout


class Nursery:
    """Where processes of the program begin within a fraction of the time that loading it takes."""

    def __init__(self) -> None:
        self._process = subprocess.Popen(
            [sys.executable, "-m", "tests.faults.nursery"],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )

    def begin(
        self, arguments: list[str], database: Path | str, log: Path, **settings: str
    ) -> "Forked":
        """Have a process begin with these arguments."""
        environment = {"FOURTH_HOUR_DATABASE": address_of(database)} | variables(settings)
        order = {"arguments": arguments, "environment": environment, "log": str(log)}
        assert self._process.stdin is not None
        assert self._process.stdout is not None
        self._process.stdin.write(f"{json.dumps(order)}\n")
        self._process.stdin.flush()
        return Forked(int(self._process.stdout.readline()))

    def close(self) -> None:
        """Let nobody begin any more."""
        self._process.communicate(timeout=PATIENCE_SECONDS)


@dataclass(frozen=True)
class Forked:
    """A process that is nobody's child here."""

    pid: int

    def poll(self) -> int | None:
        """None as long as it lives; what it ended with is not known."""
        try:
            os.kill(self.pid, 0)
        except ProcessLookupError:
            return 0
        return None

    def kill(self) -> None:
        """End it in the middle of whatever it does."""
        with suppress(ProcessLookupError):
            os.kill(self.pid, signal.SIGKILL)

    def wait(self) -> None:
        """Wait until it is gone."""
        while self.poll() is None:
            sleep(0.001)


class Running:
    """`fourth-hour serve` in a process of its own."""

    def __init__(
        self, process: "subprocess.Popen[bytes] | Forked", port: int, host: str = "127.0.0.1"
    ) -> None:
        self.begun: Final = monotonic()
        self.process: Final = process
        self.host: Final = host
        self.port: Final = port
        self.base: Final = f"http://{host}:{port}"

    def wait_until_ready(self) -> float:
        """Wait for the first answer; how many seconds after the start it came."""
        while monotonic() - self.begun < PATIENCE_SECONDS:
            if self.process.poll() is not None:
                raise RuntimeError(f"the program ended with {self.process.poll()}")
            if self._is_healthy():
                return monotonic() - self.begun
            sleep(0.01)
        raise TimeoutError("the program does not answer")

    def _is_healthy(self) -> bool:
        connection = HTTPConnection(self.host, self.port, timeout=10)
        with suppress(OSError, HTTPException), closing(connection):
            connection.request("GET", "/healthz")
            return connection.getresponse().status == 200
        return False

    def kill(self) -> None:
        """End it in the middle of whatever it does."""
        self.process.kill()
        self.process.wait()


class Served(Running):
    """The same by the very command, from the loading on."""

    def __init__(self, database: Path | str, log: Path, **settings: str) -> None:
        port = free_port()
        with log.open("ab") as out:
            self.command: Final = subprocess.Popen(
                [*PROGRAM, "serve", "--port", str(port)],
                env=environment_for(database) | variables(settings),
                stdout=out,
                stderr=out,
            )
        super().__init__(self.command, port)

    def stop(self) -> float:
        """Ask it to end; how many seconds it took."""
        begun = monotonic()
        self.command.send_signal(signal.SIGTERM)
        self.command.wait(PATIENCE_SECONDS)
        return monotonic() - begun


@contextmanager
def nursery() -> Iterator[Nursery]:
    """Where the processes of the program begin."""
    begins = Nursery()
    try:
        yield begins
    finally:
        begins.close()


@contextmanager
def ending(served: Running) -> Iterator[Running]:
    """Kill it at the end, whatever came between."""
    try:
        yield served
    finally:
        served.kill()
