"""A receiver of webhooks in a thread of its own, that answers as a test tells it."""

import ssl
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from threading import Event, Lock, Thread

BODILESS = 204


@dataclass(frozen=True)
class Received:
    """One request: its path, its headers by their names in lower case, its body."""

    path: str
    headers: dict[str, str]
    body: bytes


@dataclass
class Reply:
    """What to answer; `hangs`: nothing until the receiver closes, `drip`: seconds for a byte."""

    status: int = BODILESS
    headers: dict[str, str] = field(default_factory=dict)
    body: bytes = b""
    hangs: bool = False
    drip: float = 0.0

    def pieces(self) -> Iterator[bytes]:
        """The body as it is written."""
        size = 1 if self.drip else 65_536
        return (self.body[place : place + size] for place in range(0, len(self.body), size))


class _Server(ThreadingHTTPServer):
    """Says nothing of clients that go away: that is what they are told to do here."""

    daemon_threads = True
    receiver: "Receiver"

    def handle_error(self, *_: object) -> None:
        """Nothing."""


class _Handler(BaseHTTPRequestHandler):
    protocol_version = "HTTP/1.1"
    server: _Server

    def do_POST(self) -> None:
        receiver = self.server.receiver
        length = int(self.headers.get("content-length", 0))
        headers = {name.lower(): value for name, value in self.headers.items()}
        request = Received(self.path, headers, self.rfile.read(length))
        if len(request.body) < length:
            self.close_connection = True  # who sent it is gone: nothing has arrived
            return
        receiver.keep(request)
        reply = receiver.reply(request)
        if reply.hangs:
            receiver.closing.wait()
            self.close_connection = True
        else:
            self._answer(reply)

    def _answer(self, reply: Reply) -> None:
        self.send_response(reply.status)
        for name, value in reply.headers.items():
            self.send_header(name, value)
        if reply.status != BODILESS:
            self.send_header("content-length", str(len(reply.body)))
        self.end_headers()
        for piece in reply.pieces():
            self.wfile.write(piece)
            self.server.receiver.closing.wait(reply.drip)

    def log_message(self, *_: object) -> None:
        pass


class Receiver:
    """Every request in the order in which it came; `reply` says what is answered to each."""

    def __init__(self, reply: Callable[[Received], Reply], pem: Path | None = None) -> None:
        self.reply = reply
        self.closing = Event()
        self._received: list[Received] = []
        self._lock = Lock()
        self._scheme = "http" if pem is None else "https"
        self._server = _Server(("127.0.0.1", 0), _Handler)
        self._server.receiver = self
        if pem is not None:
            context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
            context.load_cert_chain(pem)
            self._server.socket = context.wrap_socket(self._server.socket, server_side=True)
        self._thread = Thread(target=self._server.serve_forever, args=(0.05,), daemon=True)
        self._thread.start()

    @property
    def received(self) -> list[Received]:
        """What has come so far."""
        with self._lock:
            return list(self._received)

    def keep(self, request: Received) -> None:
        """Note a request, before it is answered."""
        with self._lock:
            self._received.append(request)

    def address(self, path: str = "/in") -> str:
        """Where it listens."""
        return f"{self._scheme}://127.0.0.1:{self._server.server_address[1]}{path}"

    def close(self) -> None:
        """Let go of whoever hangs, and listen no more."""
        self.closing.set()
        self._server.shutdown()
        self._server.server_close()
        self._thread.join()


@contextmanager
def receiving(
    reply: Callable[[Received], Reply] = lambda _: Reply(), pem: Path | None = None
) -> Iterator[Receiver]:
    """A receiver for the length of a block; with a certificate and its key in `pem`, by TLS."""
    receiver = Receiver(reply, pem)
    try:
        yield receiver
    finally:
        receiver.close()
