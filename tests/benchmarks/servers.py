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
    """A program that listens on a port; `alone`: on the first processor where there are two."""

    def __init__(
        self,
        command: Sequence[str],
        port: int,
        environment: Mapping[str, str],
        *,
        alone: bool = True,
    ) -> None:
        self.port: Final = port
        self._process = subprocess.Popen(
            command,
            env={**os.environ, **environment},
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        self._wait()
        if alone:
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

    @property
    def process_id(self) -> int:
        """Its number on this machine."""
        return self._process.pid

    def cpu_us(self) -> float:
        """The processor time of all its threads so far, exact while it waits."""
        spent = 0
        for task in Path(f"/proc/{self._process.pid}/task").iterdir():
            with suppress(FileNotFoundError):
                spent += int((task / "schedstat").read_text().split()[0])
        return spent / 1e3

    def cpu_seconds(self) -> float:
        """The same in seconds, with threads that have ended, to a hundredth."""
        return cpu_seconds_of(self._process.pid)

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


def board_server(
    database: Path | str, environment: Mapping[str, str] | None = None, *, alone: bool = True
) -> Server:
    """The product as it is served to a ward, on a file or on whatever has an address."""
    port = free_port()
    command = [str(PROGRAM), "serve", "--host", "127.0.0.1", "--port", str(port)]
    address = f"sqlite:///{database}" if isinstance(database, Path) else database
    said = {**(environment or {}), "FOURTH_HOUR_DATABASE": address}
    return Server(command, port, said, alone=alone)


def module_server(
    module: str, *arguments: str, environment: Mapping[str, str] | None = None
) -> Server:
    """A server of the benchmarks: a module that takes a port and whatever else it needs."""
    port = free_port()
    command = [sys.executable, "-m", module, str(port), *arguments]
    return Server(command, port, environment or {})


def cpu_seconds_of(process_id: int, *, with_ended: bool = False) -> float:
    """The processor time of a process so far, `with_ended` of its children that have ended too."""
    stat = Path(f"/proc/{process_id}/stat").read_text().rpartition(")")[2].split()
    spent = stat[11:15] if with_ended else stat[11:13]
    return sum(map(int, spent)) / os.sysconf("SC_CLK_TCK")


def keep_to(process_id: int, *, first: bool) -> None:
    """Keep a process to the first processor, or off it, where there is another."""
    available = sorted(os.sched_getaffinity(0))
    if len(available) > 1:
        wanted = {available[0]} if first else set(available[1:])
        for task in Path(f"/proc/{process_id}/task").iterdir():
            with suppress(ProcessLookupError):
                os.sched_setaffinity(int(task.name), wanted)
