"""What a page answers when it cannot do what was asked: always a page, never a stack trace."""

import logging
from collections.abc import Callable, Coroutine
from functools import singledispatch
from typing import Any, Final
from urllib.parse import quote, urlsplit
from zoneinfo import ZoneInfo

from fastapi import Request, Response
from fastapi.exceptions import RequestValidationError
from fastapi.responses import RedirectResponse
from fastapi.routing import APIRoute
from starlette.exceptions import HTTPException

from server.domain.request import Request as Unit
from server.logs import request_number
from server.pages.boards.last_known import NothingKnown
from server.pages.forms.entry import Entry, Wrong
from server.pages.links import LOCKED, SIGN_IN
from server.pages.page_head import page_head
from server.pages.refusals import AWAY, NOT_OURS, REFUSALS, wrong_of
from server.pages.rendering import page, wants_part
from server.pages.unreadable_view import unreadable_view
from server.pages.visitors import (
    FormNotOurs,
    Locked,
    SignInNeeded,
    Visitor,
    is_fetched,
    now_of,
    require_token,
)
from server.pages.ward_setting import plain_head, ward_setting
from server.services.errors import Forbidden, NotFound, Unreadable
from server.services.fault_words import fault_words
from server.services.read_unreadable import read_unreadable
from server.services.shown import ASKED_BY, SHOWN_ANYWAY
from server.services.unreadable import noticing
from server.store.errors import Away

NOTHING_KNOWN: Final = (
    "Nothing is known here of this ward. Write on paper; whoever keeps the board running may have "
    "a folder with its last paper sheet."
)
FAILED: Final = "Nothing was recorded. The fault is ours and is in the log; try again."

NOT_READ: Final = "What is recorded of this unit cannot be read. Nothing was recorded."

_LOG: Final = logging.getLogger(__name__)


class NotKept(Exception):
    """A form for a unit that cannot be read; `typed` is what stood in it."""

    def __init__(self, unit: Unit, typed: Entry) -> None:
        super().__init__("nothing was recorded: the unit cannot be read")
        self.unit = unit
        self.typed = typed


def attempt(
    visitor: Visitor,
    entry: Entry,
    act: Callable[[], Response],
    again: Callable[[Wrong], Response],
) -> Response:
    """Do what a form asks; if it is refused, answer the same page with what was typed.

    Every form of a person who is signed in goes through here: the token is checked first.
    Raises `NotKept` for a unit that cannot be read: there is no page to show it on.
    """
    try:
        require_token(entry, visitor.secret)
        return act()
    except Unreadable as lost:
        raise NotKept(lost.unit, entry) from lost
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
                with noticing():
                    return await handle(request)
            except Exception as failure:  # noqa: BLE001 - the person gets a page, the log the fault
                return failed(failure, request)

        return handle_with_pages


@singledispatch
def failed(failure: Exception, request: Request) -> Response:
    """Answer a failure as a page; one that nobody foresaw goes into the log."""
    _LOG.error("a page failed", extra={"stack": fault_words(failure)})
    return problem(request, 500, "Something went wrong", FAILED)


@failed.register
def _(failure: SignInNeeded, request: Request) -> Response:
    return to_sign_in(request, failure.path)


@failed.register
def _(failure: Locked, request: Request) -> Response:
    return to_locked(request, failure.path)


@failed.register
def _(failure: NotFound, request: Request) -> Response:
    return problem(request, 404, "Not found", f"{failure}.".capitalize())


@failed.register
def _(failure: Forbidden, request: Request) -> Response:
    return problem(request, 403, "Not yours to open", f"{failure.why}.".capitalize())


@failed.register
def _(failure: Unreadable, request: Request) -> Response:
    _LOG.error("a unit cannot be read: %s", fault_words(failure))
    return unreadable_page(request, failure.unit)


@failed.register
def _(failure: NotKept, request: Request) -> Response:
    return unreadable_page(request, failure.unit, failure.typed)


@failed.register
def _(failure: Wrong, request: Request) -> Response:
    return problem(request, failure.status, "Not possible", f"{failure}.".capitalize())


@failed.register
def _(_failure: FormNotOurs, request: Request) -> Response:
    return problem(request, 403, "Not from here", NOT_OURS)


@failed.register
def _(failure: Away, request: Request) -> Response:
    _LOG.warning("the database is away: %s", failure)
    return problem(request, 503, "The database is away", AWAY)


@failed.register
def _(_failure: NothingKnown, request: Request) -> Response:
    return problem(request, 503, "The database is away", NOTHING_KNOWN)


@failed.register
def _(failure: HTTPException, request: Request) -> Response:
    return problem(request, failure.status_code, "Not possible", f"{failure.detail}.")


@failed.register
def _(failure: RequestValidationError, request: Request) -> Response:
    # "query", the name, and in a list the place: the name is what somebody can look at.
    wrong = ", ".join(
        dict.fromkeys(str((*error["loc"][1:], *error["loc"])[0]) for error in failure.errors())
    )
    return problem(request, 422, "Not possible", f"The address is wrong in: {wrong}.")


def unreadable_page(request: Request, unit: Unit, typed: Entry | None = None) -> Response:
    """Answer what is still known of a unit that cannot be read; to strangers as any other."""
    actor, now = request.scope[ASKED_BY], now_of(request)
    try:
        with request.app.state.store.read() as session:
            known = read_unreadable(session, actor, unit)
            setting = ward_setting(session, actor, now, unit.ward_id)
    except (Forbidden, Away) as refusal:
        return failed(refusal, request)
    view = unreadable_view(known, setting.zone, now, typed)
    if wants_part(request):
        return problem(request, 409, f"Bed {view.bed} cannot be read", f"{NOT_READ} {view.to_do}")
    request.scope[SHOWN_ANYWAY] = unit
    head = plain_head(actor, setting, now)
    return page("problem/unreadable.html", status=409, head=head, unreadable=view)


def to_sign_in(request: Request, path: str) -> Response:
    """Send a person to the sign-in page; a page that swaps parts is told to go there itself."""
    if request.headers.get("hx-request"):
        shown = urlsplit(request.headers.get("hx-current-url", "")).path
        headers = {"HX-Redirect": _href(SIGN_IN, shown), "Cache-Control": "no-store"}
        return Response(status_code=401, headers=headers)
    headers = {"Cache-Control": "no-store"}
    return RedirectResponse(_href(SIGN_IN, path), status_code=303, headers=headers)


def to_locked(request: Request, path: str) -> Response:
    """Send a person to where the screen is unlocked; a page that stands covers itself."""
    kept = {"Cache-Control": "no-store"}
    if is_fetched(request):
        return Response("The screen is locked.", 423, {"HX-Reswap": "none", **kept}, "text/plain")
    return RedirectResponse(_href(LOCKED, path), status_code=303, headers=kept)


def _href(page: str, path: str) -> str:
    return page if path in ("", "/") else f"{page}?next={quote(path, safe='/')}"


def problem(request: Request, status: int, title: str, why: str) -> Response:
    """Answer a page that says what is wrong.

    A page that swaps parts gets the message alone, in its place: what was typed stays.
    """
    part = wants_part(request)
    head = page_head(now_of(request), ZoneInfo("UTC"))
    name = "problem/part.html" if part else "problem/problem.html"
    answer = page(
        name, status=status, head=head, problem_title=title, why=why, number=request_number()
    )
    if part:
        answer.headers["HX-Retarget"] = "#problem"
        answer.headers["HX-Reswap"] = "outerHTML"
    return answer
