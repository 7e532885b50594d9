"""Many open streams in one process, and when each has heard."""

import socket
from collections.abc import Iterator
from contextlib import contextmanager
from selectors import EVENT_READ, DefaultSelector
from time import perf_counter
from typing import Final

BLOCK: Final = 1 << 18
PATIENCE_SECONDS: Final = 30.0
HELLO: Final = b"event: tick"


class Listener:
    """One stream. It has heard once an event with an id has come, to its end."""

    def __init__(self, port: int, request: bytes) -> None:
        self.socket: Final = socket.create_connection(("127.0.0.1", port), 30)
        self.socket.sendall(request)
        self.said = b""
        while HELLO not in self.said or not self.said.rstrip(b"\r\n").endswith(b"}"):
            self.said += self.socket.recv(BLOCK)
        self.said = b""

    def read_on(self) -> bool:
        """Take what has come; whether that makes the event whole. A sign of life is none."""
        block = self.socket.recv(BLOCK)
        if not block:
            raise ConnectionError("the server closed the stream")
        self.said += block
        _, found, rest = self.said.rpartition(b"\nid: ")
        return bool(found) and b"\n\n" in rest

    @property
    def event(self) -> bytes:
        """The event as it was said, out of its chunks."""
        said = b"".join(_chunks(self.said))
        events = [one for one in said.split(b"\n\n") if b"\nid: " in one]
        return events[-1] + b"\n\n"


class Listeners:
    """All of them."""

    def __init__(self, port: int, request: bytes, number: int) -> None:
        self.all: Final = [Listener(port, request) for _ in range(number)]
        self._selector = DefaultSelector()
        for one in self.all:
            self._selector.register(one.socket, EVENT_READ, one)

    def heard(self, begun: float) -> list[float]:
        """Wait until all have heard; how many seconds after `begun` each had, in order."""
        waiting, times = set(self.all), []
        while waiting:
            ready = self._selector.select(PATIENCE_SECONDS)
            if not ready:
                raise TimeoutError(f"{len(waiting)} streams have not heard")
            for key, _ in ready:
                if key.data.read_on() and key.data in waiting:
                    waiting.discard(key.data)
                    times.append(perf_counter() - begun)
        return times

    def forget(self) -> None:
        """Begin anew."""
        for one in self.all:
            one.said = b""

    def close(self) -> None:
        """Hang up."""
        self._selector.close()
        for one in self.all:
            one.socket.close()


@contextmanager
def listening(port: int, request: bytes, number: int) -> Iterator[Listeners]:
    """So many streams, closed at the end."""
    listeners = Listeners(port, request, number)
    try:
        yield listeners
    finally:
        listeners.close()


def _chunks(said: bytes) -> Iterator[bytes]:
    """The data of whole chunks."""
    while said:
        size, _, said = said.partition(b"\r\n")
        length = int(size, 16)
        yield said[:length]
        said = said[length + 2 :]
