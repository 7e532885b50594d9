"""What is sent to open boards: changed rows as HTML, encoded once for all who look at the ward."""

import json
from asyncio import FIRST_COMPLETED, Task, ensure_future, sleep, wait
from collections.abc import Awaitable, Callable
from typing import Any, Final

from starlette.types import Message, Receive, Scope, Send

from server.domain.encoding import write_instant
from server.live import News, StreamResponse, Tick, server_sent
from server.pages.boards.faces import Face
from server.pages.boards.kept import KeptBoards

RECHECK_SECONDS: Final = 5.0


class BoardEncoder:
    """The stream of one face: unnamed events that swap rows, and `tick` as a sign of life."""

    def __init__(self, boards: KeptBoards, face: Face, now: Callable[[], Any]) -> None:
        self._boards = boards
        self._face = face
        self._now = now

    def news(self, news: News) -> bytes:
        """The rows that changed, the tally and the order; the ward's revision as the id."""
        named = None if news.whole else frozenset(news.episode_ids)
        html = self._boards.changes(news.ward_id, self._face, self._now(), named)
        return unnamed(html, news.revision)

    def tick(self, tick: Tick) -> bytes:
        """The present instant, the last successful check, and whether the database is away."""
        checked_at = None if tick.checked_at is None else write_instant(tick.checked_at)
        away = self._boards.last_known.words(tick.ward_id, tick.at)
        said = {"at": write_instant(tick.at), "checked_at": checked_at, "away": away}
        return server_sent("tick", json.dumps(said))


def unnamed(html: str, revision: int) -> bytes:
    """Answer an event without a name: the page puts its HTML in place."""
    lines = "".join(f"data: {line}\n" for line in html.split("\n") if line.strip())
    return f"{lines}id: {revision}\n\n".encode()


class GuardedReceive:
    """What the client says, and a goodbye in its name once it may no longer listen.

    `may_listen` is asked every few seconds for as long as the stream is open.
    """

    def __init__(self, receive: Receive, may_listen: Callable[[], Awaitable[bool]]) -> None:
        self._receive = receive
        self._may_listen = may_listen
        self.barred = False

    async def __call__(self) -> Message:
        """Answer the next message of the client, or that it is gone."""
        said: Task[Message] = ensure_future(self._receive())
        barred: Task[None] = ensure_future(self._until_barred())
        try:
            await wait({said, barred}, return_when=FIRST_COMPLETED)
            self.barred = not said.done()
            return {"type": "http.disconnect"} if self.barred else said.result()
        finally:
            said.cancel()
            barred.cancel()

    async def _until_barred(self) -> None:
        while True:
            await sleep(RECHECK_SECONDS)
            if not await self._is_welcome():
                return

    async def _is_welcome(self) -> bool:
        try:
            return await self._may_listen()
        except Exception:  # noqa: BLE001 - who cannot be checked just now is checked again
            return True


async def send_guarded(
    stream: StreamResponse,
    scope: Scope,
    receive: Receive,
    send: Send,
    may_listen: Callable[[], Awaitable[bool]],
) -> None:
    """Send a stream for as long as its reader may listen."""
    guarded = GuardedReceive(receive, may_listen)
    await stream(scope, guarded, send)
    if guarded.barred:
        await send({"type": "http.response.body", "body": b""})
