"""A bare ASGI application with streams: `PORT`. What is posted to it goes to all who listen."""

import sys
from asyncio import Event
from typing import Any, Final

from starlette.types import Receive, Scope, Send

from tests.benchmarks.bare_page import serve

HELLO: Final = b"event: tick\ndata: {}\n\n"
_STREAM: Final[Any] = {
    "type": "http.response.start",
    "status": 200,
    "headers": [(b"content-type", b"text/event-stream")],
}
_DONE: Final[Any] = {
    "type": "http.response.start",
    "status": 204,
    "headers": [(b"content-length", b"0")],
}


class Streams:
    """One message at a time, the newest, for everybody."""

    def __init__(self) -> None:
        self._message = b""
        self._news = Event()

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """A GET listens; a POST speaks."""
        if scope["method"] == "GET":
            await self._listen(send)
        said = b""
        while (part := await receive()).get("more_body"):
            said += part["body"]
        self._message = said + part.get("body", b"")
        self._news.set()
        self._news = Event()
        await send(_DONE)
        await send({"type": "http.response.body", "body": b""})

    async def _listen(self, send: Send) -> None:
        await send(_STREAM)
        body = HELLO
        while True:
            await send({"type": "http.response.body", "body": body, "more_body": True})
            await self._news.wait()
            body = self._message


if __name__ == "__main__":
    serve(Streams(), int(sys.argv[1]))
