"""A feed and its streams on the loop of a test, with clients that the test runs by hand."""

import asyncio
from collections.abc import Callable, Coroutine
from datetime import UTC, datetime
from time import monotonic
from typing import Any, NamedTuple

from server.live import Feed, News, Pulse, StreamResponse, Streams, Tick

AT = datetime(2026, 3, 3, 12, 0, tzinfo=UTC)


class Change(NamedTuple):
    """A commit, as the store tells of it."""

    ward_id: str
    revision: int


class Ledger:
    """A source that a test writes: the present revision of ward `w1`."""

    def __init__(self) -> None:
        self.revision = 5
        self.broken = False

    def pulse(self) -> Pulse:
        """The present revision."""
        if self.broken:
            raise OSError("no such file")
        return Pulse({"w1": self.revision}, AT)

    def news(self, ward_id: str, since: int) -> News:
        """One episode for each revision."""
        if self.broken:
            raise OSError("no such file")
        named = tuple(f"e{number}" for number in range(since + 1, self.revision + 1))
        return News(ward_id, self.revision, named)


class Plain:
    """Encodes as plain text, and counts how often; may be broken for a while."""

    def __init__(self) -> None:
        self.encoded: list[News] = []
        self.broken = False

    def news(self, news: News) -> bytes:
        """The episodes."""
        if self.broken:
            raise ValueError("no words")
        self.encoded.append(news)
        return f"<{news.revision}:{','.join(news.episode_ids)}>".encode()

    def tick(self, tick: Tick) -> bytes:  # noqa: ARG002 - any tick is a dot
        """A dot."""
        return b"."


class Client:
    """One open stream, run by hand."""

    def __init__(
        self,
        streams: Streams,
        encoder: Plain,
        since: int | None,
        may_listen: Callable[[], bool],
    ) -> None:
        self.sent = b""
        self.status: int | None = None
        self.over = False
        self.gate = asyncio.Event()
        self.gate.set()
        self.left = asyncio.Event()
        answer = StreamResponse(streams, "plain", "w1", encoder, since=since, may_listen=may_listen)
        self.task = asyncio.create_task(answer({"type": "http"}, self._receive, self._send))

    async def _receive(self) -> Any:
        await self.left.wait()
        return {"type": "http.disconnect"}

    async def _send(self, message: Any) -> None:
        await self.gate.wait()
        if message["type"] == "http.response.start":
            self.status = message["status"]
        else:
            self.sent += message["body"]
            self.over = not message.get("more_body", False)

    async def has(self, said: bytes) -> None:
        """Wait until something was sent."""
        await until(lambda: said in self.sent)


class Stage:
    """A feed with its streams on the loop of a test."""

    def __init__(self) -> None:
        self.ledger = Ledger()
        self.feed = Feed(self.ledger, now=lambda: AT, poll_seconds=0.05)
        self.streams = Streams(self.feed, now=lambda: AT)
        self.encoder = Plain()
        self.clients: list[Client] = []

    def change(self, count: int = 1) -> None:
        """Commit in this process."""
        for _ in range(count):
            self.ledger.revision += 1
            self.feed.hear([Change("w1", self.ledger.revision)])

    def client(
        self, since: int | None = None, may_listen: Callable[[], bool] = lambda: True
    ) -> Client:
        """Open a stream."""
        self.clients.append(Client(self.streams, self.encoder, since, may_listen))
        return self.clients[-1]

    async def end(self) -> None:
        """Close everything, and take how each client ended.

        A failure left over would be told whenever it is collected: in the middle of another test
        that parses a file it breaks the parser of Python 3.11, which cannot be entered twice.
        """
        self.streams.close()
        await asyncio.to_thread(self.feed.stop)
        for client in self.clients:
            client.gate.set()
        await asyncio.gather(*(client.task for client in self.clients), return_exceptions=True)


async def until(holds: Callable[[], bool], seconds: float = 60) -> None:
    """Wait for what another thread or task does."""
    end = monotonic() + seconds
    while not holds():
        assert monotonic() < end, "waited in vain"
        await asyncio.sleep(0.005)


def play(act: Callable[[Stage], Coroutine[Any, Any, None]]) -> None:
    """Run a test on a loop of its own, with the feed running."""

    async def run() -> None:
        stage = Stage()
        stage.streams.open(asyncio.get_running_loop())
        stage.feed.start()
        stage.feed.start()
        try:
            await act(stage)
        finally:
            await stage.end()

    asyncio.run(run())
