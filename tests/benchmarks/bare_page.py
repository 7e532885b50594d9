"""A bare ASGI application that answers the bytes of a file: `PORT FILE`."""

import gc
import sys
from pathlib import Path
from typing import Any

import uvicorn
from starlette.types import Receive, Scope, Send


class Page:
    """Answers every request alike."""

    def __init__(self, body: bytes) -> None:
        length = str(len(body)).encode()
        headers = [(b"content-type", b"text/html; charset=utf-8"), (b"content-length", length)]
        self._start: Any = {"type": "http.response.start", "status": 200, "headers": headers}
        self._body: Any = {"type": "http.response.body", "body": body}

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:  # noqa: ARG002 - ASGI
        """Send the bytes."""
        await send(self._start)
        await send(self._body)


def serve(app: Any, port: int) -> None:
    """Serve with the settings of the product."""
    gc.collect()
    gc.freeze()
    gc.set_threshold(50_000, 20, 20)
    uvicorn.run(
        app,
        host="127.0.0.1",
        port=port,
        lifespan="off",
        access_log=False,
        log_level="info",
        server_header=False,
        timeout_graceful_shutdown=1,
    )


if __name__ == "__main__":
    serve(Page(Path(sys.argv[2]).read_bytes()), int(sys.argv[1]))
