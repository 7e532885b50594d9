"""Plain ASGI for the boards: the shortest way from a request to bytes that are ready."""

from collections.abc import Iterable, Mapping
from http.cookies import CookieError, SimpleCookie
from typing import Any, Final
from urllib.parse import parse_qs

from starlette.types import Scope, Send

from server.pages.cookies import cookie_name
from server.pages.visitors import COOKIE

_COOKIE: Final = COOKIE.encode()
_PLAIN: Final = (b"content-type", b"text/html; charset=utf-8")
_KEPT: Final = (b"cache-control", b"no-store")


def secret_of(app: Any, scope: Scope) -> str:
    """Answer the session cookie of a request, empty without one."""
    for name, value in scope["headers"]:
        if name == b"cookie" and _COOKIE in value:
            return _cookie(value.decode("latin-1"), cookie_name(app, COOKIE))
    return ""


def query_of(scope: Scope) -> Mapping[str, str]:
    """Answer what the address asks for; of a name that is said twice, the last."""
    text = scope["query_string"]
    return {} if not text else {k: v[-1] for k, v in parse_qs(text.decode("latin-1")).items()}


async def send_html(
    send: Send, body: bytes, status: int = 200, more: Iterable[tuple[bytes, bytes]] = ()
) -> None:
    """Send a page as it is, with more headers where nobody else adds them."""
    length = (b"content-length", str(len(body)).encode())
    headers: list[tuple[bytes, bytes]] = [_PLAIN, length, _KEPT, *more]
    await send({"type": "http.response.start", "status": status, "headers": headers})
    await send({"type": "http.response.body", "body": body})


def _cookie(text: str, called: str) -> str:
    plain = text.removeprefix(f"{called}=")
    if plain != text and ";" not in plain and '"' not in plain:
        return plain
    try:
        found: Any = SimpleCookie(text).get(called)
    except CookieError:
        return ""
    return found.value if found is not None else ""
