"""The program itself, on a real file: started, asked, killed."""

import os
import subprocess
import sys
from collections.abc import Iterator
from contextlib import closing, contextmanager, suppress
from http.client import HTTPConnection, HTTPException
from pathlib import Path
from time import monotonic, sleep
from typing import Final

from tests.nursery import PATIENCE_SECONDS, Forked, begin
from tests.ports import free_port

PROGRAM: Final = (sys.executable, "-m", "server.cli")


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

    def stop(self) -> float:
        """Ask it to end; how many seconds it took."""
        begun = monotonic()
        self.process.terminate()
        self.process.wait(PATIENCE_SECONDS)
        return monotonic() - begun


class Served(Running):
    """`fourth-hour serve` on a free port, forked from a process that has loaded the program."""

    def __init__(self, database: Path | str, log: Path, **settings: str) -> None:
        port = free_port()
        arguments, environment = ["serve", "--port", str(port)], environment_for(database)
        super().__init__(begin(arguments, environment | variables(settings), log), port)


class Commanded(Running):
    """The same by the very command, from the loading on: by the linker, too."""

    def __init__(self, database: Path | str, log: Path, **settings: str) -> None:
        port = free_port()
        with log.open("ab") as out:
            command = subprocess.Popen(
                [*PROGRAM, "serve", "--port", str(port)],
                env=environment_for(database) | variables(settings),
                stdout=out,
                stderr=out,
            )
        super().__init__(command, port)


@contextmanager
def ending(served: Running) -> Iterator[Running]:
    """Kill it at the end, whatever came between."""
    try:
        yield served
    finally:
        served.kill()
