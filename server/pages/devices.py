"""The device somebody sits at: its cookies, and what it is called in a list of sessions."""

from datetime import timedelta
from secrets import token_urlsafe
from typing import Final

from fastapi import Request, Response

from server.pages.cookies import cookie_name, cookie_rules, keep_cookie, read_cookie
from server.pages.visitors import COOKIE, VISIT_COOKIE

DEVICE_COOKIE: Final = "fourth_hour_device"
"""By it a device is told from others for as long as it is used; it opens nothing."""

DEVICE_KNOWN: Final = timedelta(days=400)
BROWSERS: Final = (
    ("Edg", "Edge"),
    ("OPR/", "Opera"),
    ("Firefox/", "Firefox"),
    ("FxiOS/", "Firefox"),
    ("Chrome/", "Chrome"),
    ("CriOS/", "Chrome"),
    ("Safari/", "Safari"),
)
SYSTEMS: Final = (
    ("Android", "Android"),
    ("iPhone", "iPhone"),
    ("iPad", "iPad"),
    ("Windows", "Windows"),
    ("Mac OS", "Mac"),
    ("CrOS", "ChromeOS"),
    ("Linux", "Linux"),
)


def device_of(request: Request) -> str:
    """Answer the secret by which this device is known, empty for one never seen."""
    return read_cookie(request, DEVICE_COOKIE)


def visit_of(request: Request) -> str:
    """Answer the secret of this visit to the sign-in page, empty for one that begins."""
    return read_cookie(request, VISIT_COOKIE)


def visit_or_new(request: Request) -> str:
    """Answer the secret of this visit, another one for a visit that begins."""
    return visit_of(request) or token_urlsafe(24)


def device_words(request: Request) -> str:
    """Answer what a device is called, `Chrome on Windows`, by what its browser says of itself."""
    said = request.headers.get("user-agent", "")
    browser, system = (
        next((words for sign, words in known if sign in said), "") for known in (BROWSERS, SYSTEMS)
    )
    return " on ".join(word for word in (browser, system) if word) or "a device of unknown kind"


def keep_session(request: Request, answer: Response, secret: str, seconds: int) -> None:
    """Have the browser keep a session."""
    keep_cookie(request, answer, COOKIE, secret, seconds)


def drop_session(request: Request, answer: Response) -> None:
    """Have the browser forget its session."""
    answer.delete_cookie(cookie_name(request.app, COOKIE), **cookie_rules(request))


def keep_visit(request: Request, answer: Response, visit: str) -> None:
    """Have the browser keep that it stands before the sign-in page, and which device it is."""
    keep_cookie(request, answer, VISIT_COOKIE, visit)
    device, seconds = device_of(request) or token_urlsafe(24), int(DEVICE_KNOWN.total_seconds())
    keep_cookie(request, answer, DEVICE_COOKIE, device, seconds)
