"""From a right password on to the code that goes with it, for whoever has a second factor."""

from typing import Final

from fastapi import Request, Response
from fastapi.responses import JSONResponse

from server.pages.answers import done
from server.pages.cookies import cookie_name, cookie_rules, keep_cookie, read_cookie
from server.pages.links import SIGN_IN, asking
from server.pages.visitors import is_fetched, now_of
from server.services.half_sign_in import (
    HALF_LASTS,
    Wanted,
    begin_half,
    staff_of_half,
    wanted_after_password,
)
from server.store.staff import Staff

CODE: Final = f"{SIGN_IN}/code"
HALF_COOKIE: Final = "fourth_hour_half"
"""By it the password need not be given again; it opens nothing without the code."""


def ask_for_code(request: Request, staff: Staff, href: str) -> Response | None:
    """Answer where the code is asked for, on the way to `href`; None where none is wanted."""
    state, now = request.app.state, now_of(request)
    with state.store.read() as session:
        wanted = wanted_after_password(session, staff, required=state.settings.second_factor)
    if wanted is Wanted.NOTHING:
        return None
    with state.store.write() as session:
        secret = begin_half(session, staff, wanted, now=now)
    to = asking(CODE, {"next": href})
    answer: Response = JSONResponse({"href": to}) if is_fetched(request) else done(to)
    answer.headers["Cache-Control"] = "no-store"
    keep_cookie(request, answer, HALF_COOKIE, secret, int(HALF_LASTS.total_seconds()))
    return answer


def half_way(request: Request) -> tuple[str, Staff | None]:
    """Answer who gave a right password in this browser a moment ago, and the secret of that."""
    secret = read_cookie(request, HALF_COOKIE)
    with request.app.state.store.read() as session:
        staff = staff_of_half(session, secret, now=now_of(request)) if secret else None
    return secret, staff


def drop_half(request: Request, answer: Response) -> None:
    """Have the browser forget that a password was given."""
    answer.delete_cookie(cookie_name(request.app, HALF_COOKIE), **cookie_rules(request))
