"""Servers in processes of their own, and what they cost."""

import os
import signal
import socket
import subprocess
import sys
from collections.abc import Mapping, Sequence
from contextlib import suppress
from pathlib import Path
from time import monotonic, sleep
from types import TracebackType
from typing import Final, Self

from tests.ports import free_port

PATIENCE_SECONDS: Final = 60.0
PROGRAM: Final = Path(sys.executable).with_name("fourth-hour")


class Server:
    """A program that listens on a port; the first processor is its own where there are two."""

    def __init__(self, command: Sequence[str], port: int, environment: Mapping[str, str]) -> None:
        self.port: Final = port
        self._process = subprocess.Popen(
            command,
            env={**os.environ, **environment},
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        self._wait()
        keep_to(self._process.pid, first=True)

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        fault: BaseException | None,
        at: TracebackType | None,
    ) -> None:
        self._process.send_signal(signal.SIGTERM)
        try:
            self._process.wait(10)
        except subprocess.TimeoutExpired:
            self._process.kill()
            self._process.wait()

    def cpu_us(self) -> float:
        """The processor time of all its threads so far, exact while it waits."""
        spent = 0
        for task in Path(f"/proc/{self._process.pid}/task").iterdir():
            with suppress(FileNotFoundError):
                spent += int((task / "schedstat").read_text().split()[0])
        return spent / 1e3

    def resident_mb(self) -> float:
        """How much memory it holds now."""
        pages = int(Path(f"/proc/{self._process.pid}/statm").read_text().split()[1])
        return pages * os.sysconf("SC_PAGE_SIZE") / 1e6

    def _wait(self) -> None:
        until = monotonic() + PATIENCE_SECONDS
        while monotonic() < until:
            if self._process.poll() is not None:
                raise RuntimeError(f"the server ended with {self._process.returncode}")
            with suppress(OSError), socket.create_connection(("127.0.0.1", self.port), 1):
                return
            sleep(0.02)
        raise TimeoutError("the server does not answer")


def board_server(database: Path) -> Server:
    """The product as it is served to a ward."""
    port = free_port()
    command = [str(PROGRAM), "serve", "--host", "127.0.0.1", "--port", str(port)]
    return Server(command, port, {"FOURTH_HOUR_DATABASE": f"sqlite:///{database}"})


def module_server(
    module: str, *arguments: str, environment: Mapping[str, str] | None = None
) -> Server:
    """A server of the benchmarks: a module that takes a port and whatever else it needs."""
    port = free_port()
    command = [sys.executable, "-m", module, str(port), *arguments]
    return Server(command, port, environment or {})


def keep_to(process_id: int, *, first: bool) -> None:
    """Keep a process to the first processor, or off it, where there is another."""
    available = sorted(os.sched_getaffinity(0))
    if len(available) > 1:
        wanted = {available[0]} if first else set(available[1:])
        for task in Path(f"/proc/{process_id}/task").iterdir():
            with suppress(ProcessLookupError):
                os.sched_setaffinity(int(task.name), wanted)
