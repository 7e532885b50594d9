"""Notes after each answer what it showed of a patient, and tells the log of what was refused.

That a token was used is noted there too.
"""

import logging
from collections.abc import Mapping
from typing import Any, Final
from urllib.parse import parse_qsl

from starlette.concurrency import run_in_threadpool
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from server.domain.audit import Subject, SubjectKind
from server.domain.request import Request
from server.services.actor import Actor
from server.services.note_token_uses import TokenUses
from server.services.note_views import View, Views
from server.services.shown import ASKED_BY, SHOWN_ANYWAY, shown_by

OK: Final = 200
FORBIDDEN: Final = 403

_LOG: Final = logging.getLogger(__name__)


class NotesViews:
    """Answers as `app` does, and notes the look once the first part of the answer is sent.

    A stream has no end to wait for, and an answer is not held up by the note.
    """

    def __init__(self, app: ASGIApp) -> None:
        self._app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer, and note."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        status: int | None = None

        async def send_and_note(message: Message) -> None:
            nonlocal status
            await send(message)
            if message["type"] == "http.response.start":
                status = message["status"]
                if status == FORBIDDEN:
                    tell_refusal(scope)
            elif status is not None:
                answered, status = status, None
                if answered == OK or SHOWN_ANYWAY in scope:
                    await note_look(scope)
                await note_use(scope)

        await self._app(scope, receive, send_and_note)


def tell_refusal(scope: Mapping[str, Any]) -> None:
    """Tell the log who was refused what: an id and a name of the code, nothing that was typed."""
    endpoint, actor = scope.get("endpoint"), scope.get(ASKED_BY)
    what = getattr(endpoint, "__qualname__", type(endpoint).__name__)
    _LOG.warning("refused to %s: %s %s", actor and actor.id, scope["method"], what)


async def note_use(scope: Mapping[str, Any]) -> None:
    """Keep that a program showed its token, whatever it was answered."""
    actor: Actor | None = scope.get(ASKED_BY)
    if actor is None or actor.staff_id is not None or actor.access_id is None:
        return
    state = scope["app"].state
    uses: TokenUses = state.token_uses
    now = state.clock()
    if uses.see(actor.access_id, now):
        await run_in_threadpool(uses.write, actor.access_id, now)


async def note_look(scope: Mapping[str, Any]) -> None:
    """Note who saw what: `scope` knows the route, what was asked for, and who asked."""
    seen, actor = _seen(scope), scope.get(ASKED_BY)
    if seen is None or actor is None:
        return
    state = scope["app"].state
    views: Views = state.views
    if views.see(View(actor, *seen, state.clock())):
        await run_in_threadpool(views.write)


def _seen(scope: Mapping[str, Any]) -> tuple[Subject, str | None] | None:
    """What was shown, and of which ward; None: nothing of a patient."""
    unit: Request | None = scope.get(SHOWN_ANYWAY)
    if unit is not None:
        return Subject(SubjectKind.EPISODE, unit.id), unit.ward_id
    shown = shown_by(scope.get("endpoint"))
    if shown is None:
        return None
    asked: Mapping[str, str] = scope["path_params"]
    if scope["query_string"]:
        asked = {**dict(parse_qsl(scope["query_string"].decode("latin-1"))), **asked}
    return shown.named(asked)
