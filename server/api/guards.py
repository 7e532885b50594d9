"""What stands before every route: how large a body may be, and what every answer says of itself."""

from collections.abc import Callable, Mapping
from typing import Final

from starlette.datastructures import Headers, MutableHeaders
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from server.api.problems import problem

CONTENT_POLICY: Final = (
    "default-src 'none'; object-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; "
    "font-src 'self'; media-src 'self'; connect-src 'self'; manifest-src 'self'; "
    "form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
HEADERS: Final[Mapping[str, str]] = {
    "content-security-policy": CONTENT_POLICY,
    "x-content-type-options": "nosniff",
    "referrer-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "camera=(), geolocation=(), microphone=(), payment=()",
}
A_YEAR: Final = "max-age=31536000; includeSubDomains"


def security_headers(*, secure: bool) -> list[tuple[bytes, bytes]]:
    """What browsers are to hold every answer to; `secure` where the board is served over HTTPS."""
    always = {**HEADERS, "strict-transport-security": A_YEAR} if secure else HEADERS
    return [(name.encode(), value.encode()) for name, value in always.items()]


class SecurityHeaders:
    """Adds to every answer what browsers are to hold it to; kept by nobody unless it says so."""

    def __init__(self, app: ASGIApp, *, secure: bool) -> None:
        self._app = app
        self._raw = security_headers(secure=secure)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer as the application does, with more headers."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return

        async def send_marked(message: Message) -> None:
            if message["type"] == "http.response.start":
                message["headers"] = [*message.get("headers", ()), *self._raw]
                MutableHeaders(scope=message).setdefault("cache-control", "no-store")
            await send(message)

        await self._app(scope, receive, send_marked)


class Faults:
    """Answers a mistake of ours as `answer` has it, inside the headers that every answer gets."""

    def __init__(self, app: ASGIApp, *, answer: Callable[[Request, Exception], Response]) -> None:
        self._app = app
        self._answer = answer

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer as the application does; once that has begun, a mistake ends the connection."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        begun = False

        async def send_noted(message: Message) -> None:
            nonlocal begun
            begun = True
            await send(message)

        try:
            await self._app(scope, receive, send_noted)
        except Exception as fault:
            if begun:
                raise
            await self._answer(Request(scope), fault)(scope, receive, send)


class BodyLimit:
    """Refuses a body above `limit` bytes, before it is read where its length is said."""

    def __init__(self, app: ASGIApp, *, limit: int) -> None:
        self._app = app
        self._limit = limit

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer as the application does, unless the body is too large."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        said = Headers(scope=scope).get("content-length", "0")
        if said.isdecimal() and int(said[:20]) > self._limit:
            answer = problem(413, "content-too-large", self._why)
            await answer(scope, receive, send)
            return
        await self._app(scope, self._counted(receive), send)

    @property
    def _why(self) -> str:
        return f"A body may have at most {self._limit} bytes."

    def _counted(self, receive: Receive) -> Receive:
        read = 0

        async def receive_counted() -> Message:
            nonlocal read
            message = await receive()
            read += len(message.get("body", b""))
            if read > self._limit:
                raise HTTPException(413, self._why)
            return message

        return receive_counted
