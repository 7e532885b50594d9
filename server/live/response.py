"""One open stream as an answer: plain ASGI, sending bytes that were encoded once for all."""

from asyncio import CancelledError, ensure_future, wait
from collections.abc import Callable, Hashable
from time import monotonic
from typing import Final

from starlette.concurrency import run_in_threadpool
from starlette.responses import Response
from starlette.types import Message as AsgiMessage
from starlette.types import Receive, Scope, Send

from server.live.channel import Channel, Encoder, Listener
from server.live.streams import Streams

RECHECK_SECONDS: Final = 15.0
STRAIGHT: Final = "fourth_hour.send"
"""Under this name a scope may hold the server's own `send`, past everything that wraps it."""

HEADERS: Final = {"cache-control": "no-store", "x-accel-buffering": "no"}


class StreamResponse(Response):
    """The stream of a ward in the form that `key` names, from revision `since` on.

    Without `since` it begins with the present. The answer is an error as long as nothing was
    sent: the database is asked before the first byte. It ends when the client leaves, stops
    reading, or may no longer listen, and when the streams are closed. `may_listen` is asked now
    and then in a thread, None: whoever sends the stream sees to it; who cannot be checked just
    then may.
    """

    media_type = "text/event-stream"

    def __init__(  # a stream has neither content nor a length, so the base is not asked
        self,
        streams: Streams,
        key: Hashable,
        ward_id: str,
        encoder: Encoder,
        *,
        since: int | None,
        may_listen: Callable[[], bool] | None = None,
    ) -> None:
        self.status_code = 200
        self.background = None
        self.init_headers(HEADERS)
        self._streams = streams
        self._key = key
        self._ward_id = ward_id
        self._encoder = encoder
        self._since = since
        self._may_listen = may_listen

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Send until the client leaves or the streams are closed."""
        since = self._streams.feed.told(self._ward_id) if self._since is None else self._since
        channel, listener = self._streams.join(self._key, self._ward_id, self._encoder, since)
        watch = ensure_future(self._watch(receive, listener))
        try:
            first = await self._first(channel, listener)
            await send(self._start())
            await self._talk(channel, listener, first, send, scope.get(STRAIGHT, send))
        except CancelledError:
            # Stalled, or the server gives up waiting: nobody is left to be told.
            return
        finally:
            watch.cancel()
            self._streams.leave(self._key, channel, listener)

    async def _first(self, channel: Channel, listener: Listener) -> bytes:
        """What was missed since the revision the client has seen, and a sign of life."""
        missed = b"" if self._has_all(listener) else await self._missed(channel, listener)
        return missed + self._streams.tick(channel, listener.revision)

    def _has_all(self, listener: Listener) -> bool:
        """Whether nothing can be missing; where nothing can be read, by what was read last."""
        feed = self._streams.feed
        seen_all = feed.away and listener.revision >= feed.told(self._ward_id)
        return self._since is None or seen_all

    async def _missed(self, channel: Channel, listener: Listener) -> bytes:
        channel.skip(listener)
        news = await run_in_threadpool(self._streams.feed.news, self._ward_id, listener.revision)
        if news.revision == listener.revision:
            return b""
        listener.revision = news.revision
        return await run_in_threadpool(self._encoder.news, news)

    async def _talk(
        self, channel: Channel, listener: Listener, chunk: bytes, send: Send, straight: Send
    ) -> None:
        """Send a first chunk, and then straight on: nobody in between has to see the rest."""
        while not listener.gone:
            if chunk:
                listener.sending_since = monotonic()
                await send({"type": "http.response.body", "body": chunk, "more_body": True})
                listener.sending_since, send = None, straight
            if channel.closed or listener.barred:
                await send({"type": "http.response.body", "body": b""})
                return
            await channel.wait(listener)
            lost = channel.has_lost(listener)
            chunk = await self._missed(channel, listener) if lost else channel.unseen(listener)

    def _start(self) -> AsgiMessage:
        return {"type": "http.response.start", "status": 200, "headers": self.raw_headers}

    async def _watch(self, receive: Receive, listener: Listener) -> None:
        """Notice that the client leaves: sending to nobody raises nothing. See that it may stay."""
        said = ensure_future(receive())
        recheck = None if self._may_listen is None else RECHECK_SECONDS
        try:
            while True:
                await wait({said}, timeout=recheck)
                if not said.done():
                    if not await run_in_threadpool(self._is_welcome):
                        listener.bar()
                elif said.result()["type"] == "http.disconnect":
                    listener.leave()
                    return
                else:
                    said = ensure_future(receive())
        finally:
            said.cancel()

    def _is_welcome(self) -> bool:
        try:
            return self._may_listen is None or self._may_listen()
        except Exception:  # noqa: BLE001 - who cannot be checked just now is checked again
            return True
