"""Very many streams of one ward, read by one thread; and some that nobody reads."""

import asyncio
import json
import resource
import socket
from asyncio import StreamReader, StreamWriter
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from time import monotonic
from typing import Final

import pytest

from tests.faults.programs import Running
from tests.faults.small_ward import WARD

AT_ONCE: Final = 100
OPENED_WITHIN_SECONDS: Final = 240.0
LITTLE_BYTES: Final = 4_096
ESTABLISHED: Final = "01"

Stream = tuple[StreamReader, StreamWriter]


@dataclass(frozen=True)
class Crowd:
    """Open streams, and how long opening all of them took."""

    streams: list[Stream]
    seconds: float

    async def until_told(self, episode_id: str) -> list[float]:
        """The moment at which each was told that a unit changed, in order."""
        told = await asyncio.gather(*(_until_told(one, episode_id) for one, _ in self.streams))
        return sorted(told)

    def leave(self) -> None:
        """Close all of them."""
        for _, writer in self.streams:
            writer.transport.abort()


def allow_files(wanted: int) -> None:
    """Let this process, and those that begin here, have so many files; a loud skip otherwise."""
    soft, hard = resource.getrlimit(resource.RLIMIT_NOFILE)
    if hard != resource.RLIM_INFINITY and hard < wanted:
        pytest.skip(f"MANY STREAMS NOT TESTED: a process may have {hard} files here, not {wanted}")
    if soft < wanted:
        resource.setrlimit(resource.RLIMIT_NOFILE, (wanted, hard))


async def gather_crowd(served: Running, token: str, number: int) -> Crowd:
    """Open so many streams, each up to its first sign of life."""
    begun, places = monotonic(), asyncio.Semaphore(AT_ONCE)

    async def join() -> Stream:
        async with places:
            return await _open(served, token)

    async with asyncio.timeout(OPENED_WITHIN_SECONDS):
        streams = await asyncio.gather(*(join() for _ in range(number)))
    return Crowd(streams, monotonic() - begun)


async def _open(served: Running, token: str) -> Stream:
    reader, writer = await asyncio.open_connection(served.host, served.port)
    writer.write(_question(f"/api/stream?ward_id={WARD}", f"Authorization: Bearer {token}"))
    await reader.readuntil(b"event: tick")
    return reader, writer


async def _until_told(reader: StreamReader, episode_id: str) -> float:
    while True:
        line = await reader.readline()
        assert line, "the stream ended"
        told = json.loads(line[6:]) if line.startswith(b"data: ") else {}
        if episode_id in told.get("episode_ids", ()):
            return monotonic()


def open_unread(served: Running, secret: str) -> socket.socket:
    """Open the stream of the board's page with room for little, and read nothing."""
    unread = socket.socket()
    unread.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, LITTLE_BYTES)
    unread.connect((served.host, served.port))
    unread.sendall(
        _question(f"/wards/{WARD}/board/stream", f"Cookie: fourth_hour_session={secret}")
    )
    return unread


def _question(path: str, header: str) -> bytes:
    return f"GET {path} HTTP/1.1\r\nHost: localhost\r\n{header}\r\n\r\n".encode()


def held_by(served: Running, clients: Iterable[socket.socket]) -> int:
    """How many of these clients a process still has a connection with."""
    ports = {f"{client.getsockname()[1]:04X}" for client in clients}
    lines = Path(f"/proc/{served.process.pid}/net/tcp").read_text("utf-8").splitlines()[1:]
    ends = [line.split()[1:4] for line in lines]
    own = f"{served.port:04X}"
    return sum(
        here.endswith(f":{own}") and there.rpartition(":")[2] in ports and state == ESTABLISHED
        for here, there, state in ends
    )


def megabytes_of(served: Running) -> float:
    """The memory of a process."""
    lines = Path(f"/proc/{served.process.pid}/status").read_text("utf-8").splitlines()
    kilobytes = next(line.split()[1] for line in lines if line.startswith("VmRSS"))
    return int(kilobytes) / 1_000
