"""Processes of the program that begin within a fraction of the time that loading it takes.

One process for all tests of a worker has loaded the program; the others are forked from it.
"""

import atexit
import json
import os
import signal
import subprocess
import sys
from contextlib import suppress
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from threading import Lock
from time import monotonic, sleep
from typing import IO, Final

from tests.conftest import PROJECT

PATIENCE_SECONDS: Final = 120.0
LOOK_EVERY_SECONDS: Final = 0.001
_ONE_ORDER: Final = Lock()


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

    def send_signal(self, number: signal.Signals) -> None:
        """Tell it something; nothing happens where it has ended."""
        with suppress(ProcessLookupError):
            os.kill(self.pid, number)

    def terminate(self) -> None:
        """Ask it to end."""
        self.send_signal(signal.SIGTERM)

    def kill(self) -> None:
        """End it in the middle of whatever it does."""
        self.send_signal(signal.SIGKILL)

    def wait(self, timeout: float = PATIENCE_SECONDS) -> None:
        """Wait until it is gone."""
        until = monotonic() + timeout
        while self.poll() is None:
            assert monotonic() < until, f"process {self.pid} does not end"
            sleep(LOOK_EVERY_SECONDS)


def begin(
    arguments: list[str], environment: dict[str, str], log: Path, *, module: str = "server.cli"
) -> Forked:
    """Have a process begin that calls `main` of a module with these arguments."""
    order = {"module": module, "arguments": arguments, "environment": environment, "log": str(log)}
    with _ONE_ORDER:
        said, answers = _nursery()
        said.write(f"{json.dumps(order)}\n")
        said.flush()
        return Forked(int(answers.readline()))


@cache
def _nursery() -> tuple[IO[str], IO[str]]:
    """Where orders go, and where their answers come from."""
    process = subprocess.Popen(
        [sys.executable, "-m", "tests.nursing"],
        cwd=PROJECT,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )
    atexit.register(process.communicate, timeout=PATIENCE_SECONDS)
    assert process.stdin is not None
    assert process.stdout is not None
    return process.stdin, process.stdout
