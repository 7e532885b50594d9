"""The program itself, on a real file: started, asked, killed."""

import os
import signal
import subprocess
import sys
from contextlib import closing, suppress
from http.client import HTTPConnection, HTTPException
from pathlib import Path
from time import monotonic, sleep
from typing import Final

from tests.ports import free_port

PROGRAM: Final = (sys.executable, "-m", "server.cli")
PATIENCE_SECONDS: Final = 120.0


def environment_for(database: Path) -> dict[str, str]:
    """The environment of a program on a database."""
    return os.environ | {"FOURTH_HOUR_DATABASE": f"sqlite:///{database}"}


def run_program(database: Path, *arguments: str) -> str:
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


class Served:
    """`fourth-hour serve` in a process of its own."""

    def __init__(self, database: Path, log: Path) -> None:
        self.port: Final = free_port()
        self.begun: Final = monotonic()
        with log.open("ab") as out:
            self.process = subprocess.Popen(
                [*PROGRAM, "serve", "--port", str(self.port)],
                env=environment_for(database),
                stdout=out,
                stderr=out,
            )

    def wait_until_ready(self) -> float:
        """Wait for the first answer; how many seconds after the start it came."""
        while monotonic() - self.begun < PATIENCE_SECONDS:
            if self.process.poll() is not None:
                raise RuntimeError(f"the program ended with {self.process.returncode}")
            if self._is_healthy():
                return monotonic() - self.begun
            sleep(0.01)
        raise TimeoutError("the program does not answer")

    def _is_healthy(self) -> bool:
        connection = HTTPConnection("127.0.0.1", self.port, timeout=10)
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
        self.process.send_signal(signal.SIGTERM)
        self.process.wait(PATIENCE_SECONDS)
        return monotonic() - begun
