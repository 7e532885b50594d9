"""Gives the load, in a process of its own: `python -m tests.benchmarks.load.giver PLAN`.

Opens the boards, posts the facts, and takes the time of each: to its answer, and to its row on each
board of its ward. Plain sockets, one thread and no parsing beyond what that needs, so that it takes
little from those whom it measures. Says `opened`, `warm`, `begin` and `end` on lines of their
own for whoever measures beside it, then what it found, as JSON.
"""

import json
import socket
import sys
from collections import deque
from itertools import count
from pathlib import Path
from random import Random
from selectors import EVENT_READ, DefaultSelector
from time import perf_counter, process_time
from typing import Any, Final

from server.clock import utc_now
from tests.benchmarks.client import get, post_bytes
from tests.benchmarks.load.posts import INSTANT, Post, Unit

BLOCK: Final = 1 << 16
OPENING: Final = 40  # boards that are being opened at once
LATEST_SECONDS: Final = 30.0
LONGEST_NAME: Final = 40


class Giver:
    """Everything at once, in one loop."""

    def __init__(self, plan: dict[str, Any]) -> None:
        self._plan = plan
        self._selector = DefaultSelector()
        self._units = [Unit(script) for script in plan["scripts"]]
        Random(plan["seed"]).shuffle(self._units)  # noqa: S311 - no secret
        self._turn = 0
        self._keys = count()
        self.boards = 0
        self.boards_of: dict[str, int] = {}
        self.pending: dict[str, list[Post]] = {}
        self.posts: list[Post] = []
        self.refused: list[str] = []
        self._free: deque[Client] = deque()
        self._waiting: deque[float] = deque()

    def run(self) -> dict[str, Any]:
        """Open, wait, post, and wait until everything has arrived."""
        self._open_boards()
        self._open_clients()
        print("opened", flush=True)
        self._listen(self._plan["quiet_seconds"])
        print("warm", flush=True)
        self._post(self._plan["warm_seconds"])
        before = len(self.posts)
        print("begin", flush=True)
        begun, spent = perf_counter(), process_time()
        self._post(self._plan["seconds"])
        ended, spent = perf_counter(), process_time() - spent
        measured = self.posts[before:]
        print("end", flush=True)
        self._until_arrived()
        return self._found(measured, begun, ended) | {"cpu_seconds": spent}

    def _open_boards(self) -> None:
        ports = self._plan["ports"]
        # The proxy has the boards of one ward streamed by one process.
        wanted = [
            (ward, cookie, ports[place % len(ports)])
            for place, (ward, cookies) in enumerate(self._plan["cookies"].items())
            for cookie in cookies[: self._plan["boards"]]
        ]
        for number, (ward, cookie, port) in enumerate(wanted):
            board = BoardOf(self, number, ward, cookie)
            self.boards_of[ward] = self.boards_of.get(ward, 0) + 1
            self.connect(port, board)
            board.open()
            while number - self.boards >= OPENING:
                self._look(LATEST_SECONDS)
        while self.boards < len(wanted):
            self._look(LATEST_SECONDS)

    def _open_clients(self) -> None:
        ports, tokens = self._plan["ports"], self._plan["tokens"]
        for number in range(self._plan["clients"]):
            port = ports[number % len(ports)]
            self._free.append(Client(self, port, tokens[number % len(tokens)]))

    def connect(self, port: int, one: "BoardOf | Client") -> None:
        """Open a connection for a board or a client."""
        one.socket = socket.create_connection(("127.0.0.1", port), LATEST_SECONDS)
        self._selector.register(one.socket, EVENT_READ, one)

    def hang_up(self, connection: socket.socket) -> None:
        """Close a connection that the other end has closed."""
        self._selector.unregister(connection)
        connection.close()

    def _listen(self, seconds: float) -> None:
        until = perf_counter() + seconds
        while (left := until - perf_counter()) > 0:
            self._look(left, patient=False)

    def _post(self, seconds: float) -> None:
        """Post for so long: so many a second, whatever becomes of them, or as they are answered."""
        begun, pace = perf_counter(), self._plan["per_second"]
        asked, until = 0, begun + seconds
        while (now := perf_counter()) < until:
            following = until
            if pace:
                while (at := begun + asked / pace) <= now:
                    self._waiting.append(at)
                    asked += 1
                following = min(at, until)
            else:
                self._waiting.extend([now] * (len(self._free) - len(self._waiting)))
            while self._waiting and self._free:
                self._free.popleft().begin(self._waiting.popleft())
            self._look(following - perf_counter(), patient=False)

    def _until_arrived(self) -> None:
        until = perf_counter() + LATEST_SECONDS
        while any(self.pending.values()) or len(self._free) < self._plan["clients"]:
            if perf_counter() > until:
                return
            self._look(0.1, patient=False)

    def _look(self, seconds: float, *, patient: bool = True) -> None:
        ready = self._selector.select(max(0.0, seconds))
        if patient and not ready:
            raise TimeoutError("the board does not answer")
        for key, _ in ready:
            key.data.read_on()

    def next_post(self, wanted: float) -> tuple[Post, bytes, str]:
        """The next unit's next fact; units take turns, and no two posts of one are on the way."""
        while True:
            unit = self._units[self._turn % len(self._units)]
            self._turn += 1
            if all(post.unit is not unit for post in self.pending.get(unit.ward, ())):
                break
        post = Post(unit, wanted)
        self.posts.append(post)
        if self.boards_of.get(unit.ward):
            self.pending.setdefault(unit.ward, []).append(post)
        body = unit.fact().replace(INSTANT, f"{utc_now():%FT%TZ}").encode()
        return post, body, f"load-{self._plan['seed']}-{next(self._keys)}"

    def give_back(self, client: "Client") -> None:
        """A client has its answer."""
        self._free.append(client)

    def _found(self, posts: list[Post], begun: float, ended: float) -> dict[str, Any]:
        answered = [post for post in posts if post.answered is not None]
        owed = sum(self.boards_of.get(post.unit.ward, 0) for post in posts)
        seen = [at - post.wanted for post in posts for at in post.seen.values()]
        return {
            "seconds": ended - begun,
            "posted": len(posts),
            "in_time": sum(begun <= (post.answered or 0) <= ended for post in self.posts),
            "answered": [(post.answered or 0) - post.wanted for post in answered],
            "seen": seen,
            "unseen": owed - len(seen),
            "refused": self.refused[:3],
            "refusals": len(self.refused),
        }


class BoardOf:
    """One open board: its page as a browser fetches it, then its stream."""

    socket: socket.socket

    def __init__(self, giver: Giver, number: int, ward: str, cookie: str) -> None:
        self._giver = giver
        self._number = number
        self._ward = ward
        self._cookie = {"Cookie": cookie}
        self._missing: int | None = None
        self._tail = b""
        self._read = self._read_page

    def open(self) -> None:
        """Ask for the page."""
        self.socket.sendall(get(f"/wards/{self._ward}/board", self._cookie))

    def read_on(self) -> None:
        """Take what has come."""
        block = self.socket.recv(BLOCK)
        if not block:
            raise ConnectionError("a board was closed")
        self._read(block)

    def _read_page(self, block: bytes) -> None:
        if self._missing is None:
            head, _, block = block.partition(b"\r\n\r\n")
            _require_ok(head)
            self._missing = _length(head)
        self._missing -= len(block)
        if self._missing <= 0:
            self.socket.sendall(get(f"/wards/{self._ward}/board/stream", self._cookie))
            self._read = self._read_begin

    def _read_begin(self, block: bytes) -> None:
        _require_ok(block)
        self._giver.boards += 1
        self._read = self._read_news

    def _read_news(self, block: bytes) -> None:
        """See whether this shows what was posted."""
        pending = self._giver.pending.get(self._ward)
        if not pending:
            self._tail = b""
            return
        now, said = perf_counter(), self._tail + block
        self._tail = said[-LONGEST_NAME:]
        for post in tuple(pending):
            if self._number not in post.seen and post.needle in said:
                post.seen[self._number] = now
                if len(post.seen) == self._giver.boards_of[self._ward]:
                    pending.remove(post)


class Client:
    """A program that posts one fact after the other on one connection."""

    socket: socket.socket

    def __init__(self, giver: Giver, port: int, token: str) -> None:
        self._giver = giver
        self._port = port
        self._headers = {"Authorization": f"Bearer {token}", "Content-Type": "application/json"}
        self._post: Post | None = None
        self._request = b""
        self._said = b""
        self._open = False

    def begin(self, wanted: float) -> None:
        """Post what was wanted at an instant."""
        self._post, body, key = self._giver.next_post(wanted)
        path = f"/api/episodes/{self._post.unit.id}/events"
        self._request = post_bytes(path, body, {**self._headers, "Idempotency-Key": key})
        self._send()

    def _send(self) -> None:
        if not self._open:
            self._giver.connect(self._port, self)
            self._open = True
        self.socket.sendall(self._request)

    def read_on(self) -> None:
        """Take what has come of the answer; a connection that was idle for long is closed."""
        block = self.socket.recv(BLOCK)
        if not block:
            self._giver.hang_up(self.socket)
            self._open = False
            if self._post is not None:
                self._send()
            return
        self._said += block
        head, found, body = self._said.partition(b"\r\n\r\n")
        if self._post is None or not found or len(body) < _length(head):
            return
        if head[9:12] == b"201":
            self._post.answered = perf_counter()
        else:
            self._refused(self._post, body)
        self._post, self._said = None, b""
        self._giver.give_back(self)

    def _refused(self, post: Post, body: bytes) -> None:
        self._giver.refused.append(body[:300].decode())
        pending = self._giver.pending.get(post.unit.ward, [])
        if post in pending:
            pending.remove(post)


def _require_ok(head: bytes) -> None:
    if not head.startswith(b"HTTP/1.1 200"):
        raise ConnectionError(f"no board: {head[:200]!r}")


def _length(head: bytes) -> int:
    _, _, rest = head.lower().partition(b"content-length:")
    return int(rest.split(b"\r\n", 1)[0])


def main() -> None:
    """Give the load that a plan names."""
    plan = json.loads(Path(sys.argv[1]).read_text("utf-8"))
    print(json.dumps(Giver(plan).run()), flush=True)


if __name__ == "__main__":
    main()
