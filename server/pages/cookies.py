"""The names and rules of the cookies of the board.

Behind HTTPS each name says to the browser that no other host, no plain connection and no other
path may have set it (`__Host-`, RFC 6265bis); without HTTPS browsers would refuse such a name.
"""

from typing import Any, Final

from fastapi import Request, Response

HOST_ONLY: Final = "__Host-"
OF_A_PATH: Final = "__Secure-"
"""Of a cookie for one path alone, which may not be called `__Host-`."""


def cookie_name(app: Any, name: str, prefix: str = HOST_ONLY) -> str:
    """Answer what a cookie is called on this board."""
    return f"{prefix}{name}" if app.state.settings.secure_cookies else name


def read_cookie(request: Request, name: str, prefix: str = HOST_ONLY) -> str:
    """Answer what a browser kept under a name, empty if nothing."""
    return request.cookies.get(cookie_name(request.app, name, prefix), "")


def keep_cookie(
    request: Request, answer: Response, name: str, value: str, seconds: int | None = None
) -> None:
    """Have the browser keep a value, until it is closed or for so long."""
    called = cookie_name(request.app, name)
    answer.set_cookie(called, value, max_age=seconds, **cookie_rules(request))


def cookie_rules(request: Request) -> dict[str, Any]:
    """Answer the rules of every cookie of a person."""
    secure = request.app.state.settings.secure_cookies
    return {"path": "/", "httponly": True, "samesite": "lax", "secure": secure}
