"""What a page answers when it cannot do what was asked: always a page, never a stack trace."""

import logging
from collections.abc import Callable, Coroutine
from typing import Any, Final
from urllib.parse import quote
from zoneinfo import ZoneInfo

from fastapi import Request, Response
from fastapi.responses import RedirectResponse
from fastapi.routing import APIRoute

from server.pages.forms.entry import Entry, Wrong
from server.pages.links import SIGN_IN
from server.pages.page_head import page_head
from server.pages.refusals import REFUSALS, wrong_of
from server.pages.rendering import page, wants_part
from server.pages.visitors import SignInNeeded, Visitor, now_of, require_token
from server.services.errors import Forbidden, NotFound
from server.store.errors import Away

_LOG: Final = logging.getLogger(__name__)


def attempt(
    visitor: Visitor,
    entry: Entry,
    act: Callable[[], Response],
    again: Callable[[Wrong], Response],
) -> Response:
    """Do what a form asks; if it is refused, answer the same page with what was typed.

    Every form of a person who is signed in goes through here: the token is checked first.
    """
    try:
        require_token(entry, visitor.secret)
        return act()
    except REFUSALS as refusal:
        return again(wrong_of(refusal))


def done(href: str) -> RedirectResponse:
    """After something was recorded: on to the page that shows it."""
    return RedirectResponse(href, status_code=303, headers={"Cache-Control": "no-store"})


class PageRoute(APIRoute):
    """A route whose failures are pages: sign-in, not found, not allowed, away."""

    def get_route_handler(self) -> Callable[[Request], Coroutine[Any, Any, Response]]:
        """Answer the handler with its failures turned into pages."""
        handle = super().get_route_handler()

        async def handle_with_pages(request: Request) -> Response:
            try:
                return await handle(request)
            except SignInNeeded as needed:
                return to_sign_in(request, needed.path)
            except NotFound as missing:
                return problem(request, 404, "Not found", f"There is no such page: {missing}.")
            except Forbidden as forbidden:
                return problem(request, 403, "Not yours to open", f"{forbidden.why.capitalize()}.")
            except Away:
                _LOG.exception("the database is away")
                return problem(request, 503, "The database is away", "Try again in a moment.")

        return handle_with_pages


def to_sign_in(request: Request, path: str) -> Response:
    """Send a person to the sign-in page; a page that swaps parts is told to go there itself."""
    href = SIGN_IN + (f"?next={quote(path, safe='/')}" if path not in ("", "/") else "")
    if request.headers.get("hx-request"):
        return Response(
            status_code=401, headers={"HX-Redirect": SIGN_IN, "Cache-Control": "no-store"}
        )
    return RedirectResponse(href, status_code=303, headers={"Cache-Control": "no-store"})


def problem(request: Request, status: int, title: str, why: str) -> Response:
    """Answer a page, or a part to be put in place, that says what is wrong."""
    name = "problem/part.html" if wants_part(request) else "problem/problem.html"
    head = page_head(now_of(request), ZoneInfo("UTC"))
    return page(name, status=status, head=head, problem_title=title, why=why)
