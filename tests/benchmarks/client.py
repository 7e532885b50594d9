"""A client that costs little: plain sockets, kept open."""

import json
import socket
from collections.abc import Mapping
from selectors import EVENT_READ, DefaultSelector
from typing import Any, Final, NamedTuple, Self

BLOCK: Final = 1 << 18
END: Final = b"\r\n\r\n"
NO_HEADERS: Final[Mapping[str, str]] = {}


class Answer(NamedTuple):
    """What came back."""

    status: int
    body: bytes


class Connection:
    """One connection that asks again and again."""

    def __init__(self, port: int) -> None:
        self.socket: Final = socket.create_connection(("127.0.0.1", port), 30)
        self._room = bytearray(BLOCK)
        self._rest = 0
        self._head = b""

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.socket.close()

    def ask(self, request: bytes) -> Answer:
        """Send a request and read the whole answer."""
        self.socket.sendall(request)
        taken = b""
        while END not in taken:
            taken += self._block()
        head, _, body = taken.partition(END)
        blocks, missing = [body], _length(head) - len(body)
        while missing > 0:
            blocks.append(self._block())
            missing -= len(blocks[-1])
        return Answer(int(head[9:12]), b"".join(blocks))

    def begin(self, request: bytes) -> None:
        """Send a request; `read_on` until the answer is there."""
        self._head, self._rest = b"", -1
        self.socket.sendall(request)

    def read_on(self) -> bool:
        """Take what has come; whether the answer is whole."""
        count = self.socket.recv_into(self._room)
        if not count:
            raise ConnectionError("the server closed the connection")
        if self._rest < 0:
            self._head += self._room[:count]
            head, end, body = self._head.partition(END)
            if not end:
                return False
            count, self._rest = len(body), _length(head)
        self._rest -= count
        return self._rest == 0

    def _block(self) -> bytes:
        block = self.socket.recv(BLOCK)
        if not block:
            raise ConnectionError("the server closed the connection")
        return block


def ask_many(connections: list[Connection], request: bytes, times: int) -> None:
    """Ask so often altogether, on all connections at once."""
    with DefaultSelector() as selector:
        for connection in connections:
            selector.register(connection.socket, EVENT_READ, connection)
            connection.begin(request)
        begun, done = len(connections), 0
        while done < times:
            for key, _ in selector.select(30):
                if key.data.read_on():
                    done += 1
                    if begun < times:
                        begun += 1
                        key.data.begin(request)


def get(path: str, headers: Mapping[str, str]) -> bytes:
    """A GET as bytes."""
    return _request("GET", path, headers)


def post(path: str, headers: Mapping[str, str], data: Any) -> bytes:
    """A POST of JSON as bytes."""
    headers = {**headers, "Content-Type": "application/json"}
    return post_bytes(path, json.dumps(data).encode(), headers)


def post_bytes(path: str, body: bytes, headers: Mapping[str, str] = NO_HEADERS) -> bytes:
    """A POST of bytes as they are."""
    return _request("POST", path, {**headers, "Content-Length": str(len(body))}) + body


def _request(method: str, path: str, headers: Mapping[str, str]) -> bytes:
    lines = [f"{method} {path} HTTP/1.1", "Host: 127.0.0.1"]
    lines += [f"{name}: {value}" for name, value in headers.items()]
    return "\r\n".join([*lines, "", ""]).encode()


def _length(head: bytes) -> int:
    for line in head.lower().split(b"\r\n"):
        if line.startswith(b"content-length:"):
            return int(line.split(b":")[1])
    raise ValueError("an answer without a length")
