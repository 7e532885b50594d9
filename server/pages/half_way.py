"""On to the code, for whoever has a second factor and was recognised by the first."""

from typing import Any, Final

from fastapi import Request, Response
from fastapi.responses import JSONResponse

from server.domain.words import Role
from server.pages.answers import done
from server.pages.cookies import cookie_name, cookie_rules, keep_cookie, read_cookie
from server.pages.links import SIGN_IN, asking
from server.pages.visitors import is_fetched, now_of
from server.services.half_sign_in import (
    HALF_LASTS,
    Half,
    Wanted,
    begin_half,
    read_half,
    wanted_after_password,
)

CODE: Final = f"{SIGN_IN}/code"
HALF_COOKIE: Final = "fourth_hour_half"
"""By it nobody needs to be recognised again; it opens nothing without the code."""


def is_required_of(app: Any, role: Role) -> bool:
    """Whether the board asks a second factor of people of a role."""
    asked_of: frozenset[Role] = app.state.settings.second_factor
    return role in asked_of


def ask_for_code(request: Request, half: Half, href: str) -> Response | None:
    """Answer where the code is asked for, on the way to `href`; None where none is wanted."""
    state, now = request.app.state, now_of(request)
    required = is_required_of(request.app, half.staff.role)
    with state.store.read() as session:
        wanted = wanted_after_password(session, half.staff, required=required)
    if wanted is Wanted.NOTHING:
        return None
    with state.store.write() as session:
        secret = begin_half(session, half, wanted, now=now)
    to = asking(CODE, {"next": href})
    answer: Response = JSONResponse({"href": to}) if is_fetched(request) else done(to)
    answer.headers["Cache-Control"] = "no-store"
    keep_cookie(request, answer, HALF_COOKIE, secret, int(HALF_LASTS.total_seconds()))
    return answer


def half_way(request: Request) -> tuple[str, Half | None]:
    """Answer who was recognised in this browser a moment ago, and the secret of that."""
    secret = read_cookie(request, HALF_COOKIE)
    with request.app.state.store.read() as session:
        half = read_half(session, secret, now=now_of(request)) if secret else None
    return secret, half


def drop_half(request: Request, answer: Response) -> None:
    """Have the browser forget that somebody was recognised."""
    answer.delete_cookie(cookie_name(request.app, HALF_COOKIE), **cookie_rules(request))
