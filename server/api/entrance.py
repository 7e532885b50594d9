"""Gives every request its number, says it in the answer; measures it, and tells the log of it."""

import logging
from collections.abc import Collection, Mapping
from time import perf_counter
from typing import Any, Final

from starlette.types import ASGIApp, Message, Receive, Scope, Send
from uvicorn.middleware.proxy_headers import ProxyHeadersMiddleware

from server.api.measuring import STATIC, Measures, route_of
from server.logs import NUMBER, belongs_to, new_number
from server.services.shown import ASKED_BY

HEADER: Final = b"x-request-id"
SERVER_FAULT: Final = 500
REFUSED: Final = 400
PROBES: Final = frozenset(("/healthz", "/readyz", "/metrics", STATIC))
"""What is asked every few seconds, or with every page: told at the level of debugging alone."""

_LOG: Final = logging.getLogger(__name__)


class Entrance:
    """Answers as `app` does, under a number that the answer and every line of the log carry.

    A number that came with a request is kept where it is well formed and one of `proxies` sent it;
    what those say of where a request came from is believed too.
    """

    def __init__(self, app: ASGIApp, *, proxies: Collection[str], measures: Measures) -> None:
        inner: Any = app  # the same, under names of its own for what an application is
        self._app: Any = ProxyHeadersMiddleware(inner, trusted_hosts=list(proxies))
        self._measures = measures

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer, and tell of it."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        begun, status, number = perf_counter(), SERVER_FAULT, self._number(scope)

        async def send_numbered(message: Message) -> None:
            nonlocal status
            if message["type"] == "http.response.start":
                status = message["status"]
                message["headers"] = [*message.get("headers", ()), (HEADER, number.encode())]
            await send(message)

        with belongs_to(request=number):
            try:
                await self._app(scope, receive, send_numbered)
            finally:
                route, seconds = route_of(scope), perf_counter() - begun
                self._measures.note(scope, route, status, seconds)
                _tell(scope, route, status, seconds)

    def _number(self, scope: Scope) -> str:
        sender = (scope.get("client") or ("",))[0]
        if sender in self._app.trusted_hosts:
            for name, value in scope["headers"]:
                if name == HEADER and NUMBER.fullmatch(value.decode("latin-1")):
                    return str(value.decode("latin-1"))
        return new_number()


def _tell(scope: Scope, route: str, status: int, seconds: float) -> None:
    """One line: the route as it is written, never the address, which names a unit or a patient."""
    level = logging.DEBUG if route in PROBES else logging.INFO
    level = logging.ERROR if status >= SERVER_FAULT else level
    if _LOG.isEnabledFor(level):
        _LOG.log(level, "answered", extra=_told(scope, route, status, seconds))


def _told(scope: Scope, route: str, status: int, seconds: float) -> Mapping[str, Any]:
    actor, ward_id = scope.get(ASKED_BY), scope.get("path_params", {}).get("ward_id")
    told = {
        "method": scope["method"],
        "route": route,
        "status": status,
        "ms": round(seconds * 1_000, 1),
        "client": (scope.get("client") or ("",))[0],
        "person": None if actor is None else actor.id,
        # What was refused may never have been a ward.
        "ward": ward_id if status < REFUSED else None,
    }
    return {name: value for name, value in told.items() if value is not None}
