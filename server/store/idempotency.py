"""Answers already given, so that a repeated request is answered and not done again."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final

from sqlalchemy import delete, insert, select, update

from server.store.sessions import ReadSession, WriteSession
from server.store.statements import columns_for, values_of
from server.store.tables import IDEMPOTENCY


@dataclass(frozen=True, slots=True)
class Answer:
    """The first answer to a keyed request; `request` is its method and path."""

    actor: str
    key: str
    request: str
    body_hash: str
    status: int
    response: Any
    recorded_at: datetime


_ANSWERS: Final = select(*columns_for(IDEMPOTENCY, Answer))


def find_answer(session: ReadSession, actor: str, key: str) -> Answer | None:
    """The answer that an actor's key was given, None if the key is new."""
    row = session.row(_ANSWERS.where(IDEMPOTENCY.c.actor == actor, IDEMPOTENCY.c.key == key))
    return None if row is None else Answer(*row)


def keep_answer(session: WriteSession, answer: Answer) -> None:
    """Keep an answer with what it is the answer to. Raises `Clash` if the key has one."""
    session.run(insert(IDEMPOTENCY), values_of(answer))


def forget_secrets(session: WriteSession) -> None:
    """Take the secrets of webhooks out of answers that were kept with them."""
    of_webhooks = IDEMPOTENCY.c.request.startswith("POST /api/webhooks")
    for row in session.rows(_ANSWERS.where(of_webhooks)):
        kept = Answer(*row)
        if kept.response.get("secret"):
            response = kept.response | {"secret": None}
            this = (IDEMPOTENCY.c.actor == kept.actor) & (IDEMPOTENCY.c.key == kept.key)
            session.run(update(IDEMPOTENCY).where(this).values(response=response))


def forget_answers(session: WriteSession, before: datetime) -> int:
    """Delete the answers given before an instant; how many there were."""
    return session.run(delete(IDEMPOTENCY).where(IDEMPOTENCY.c.recorded_at < before))
