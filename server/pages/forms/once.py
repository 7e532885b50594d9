"""A form that is sent twice is done once, by the key that was written into it when it was drawn.

A second touch, a page that was loaded again, a line that broke after the server had stored: each
sends the same key with the same values, and is answered as the first time.
"""

import json
from collections.abc import Callable
from datetime import datetime
from hashlib import sha256
from secrets import token_urlsafe
from typing import Final

from server.pages.forms.entry import Entry, Wrong
from server.services.actor import Actor
from server.store.idempotency import Answer, find_answer, keep_answer
from server.store.sessions import WriteSession

FIELD: Final = "once"
LONGEST: Final = 64
SEEN_OTHER: Final = 303
STORED: Final = (
    "What you sent before was stored, as it was then. Look at it first; if this is something "
    "else, record it again."
)
_NOT_SAID: Final = frozenset({"csrf_token", FIELD})


def form_key() -> str:
    """Answer a key for a form that is drawn now."""
    return token_urlsafe(12)


def once(
    session: WriteSession,
    actor: Actor,
    typed: Entry,
    act: Callable[[], str],
    *,
    path: str,
    now: datetime,
) -> str:
    """Do what a form asks, unless it was done; answers where it leads, as `act` does.

    The answer is kept in the transaction of the act: both are stored, or neither. Raises `Wrong`
    for a key that came with other values, and whatever `act` raises. A form without a key is done.
    """
    said = typed.raw(FIELD)
    if not said or len(said) > LONGEST:
        return act()
    key, body = f"form {said}", _hash(typed)  # a program's key has no blank in it
    kept = find_answer(session, actor.id, key)
    if kept is not None:
        if (kept.request, kept.body_hash) != (path, body):
            raise Wrong({"form": STORED}, status=409)
        return str(kept.response)
    href = act()
    keep_answer(session, Answer(actor.id, key, path, body, SEEN_OTHER, href, now))
    return href


def _hash(typed: Entry) -> str:
    values = {name: texts for name, texts in typed.values.items() if name not in _NOT_SAID}
    return sha256(json.dumps(values, sort_keys=True).encode()).hexdigest()
