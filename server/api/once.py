"""A write that happens once, however often it is sent."""

import json
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from typing import Annotated, Any

from fastapi import Depends, Header, Request, Response
from pydantic import BaseModel

from server.api.caller import Asks, Caller
from server.api.requests import body_hash
from server.services.actor import Actor
from server.services.errors import Conflict
from server.store.idempotency import Answer, find_answer, keep_answer
from server.store.sessions import ReadSession, WriteSession

Act = Callable[[WriteSession, Actor, datetime], BaseModel]

Key = Annotated[
    str | None,
    Header(
        alias="Idempotency-Key",
        min_length=1,
        max_length=200,
        pattern=r"^[\x21-\x7E]+$",
        description="A repeat with the same key and body is answered as the first one was.",
    ),
]


@dataclass(frozen=True, slots=True)
class Once:
    """A request that writes: who sent it, under which key, and the hash of what it says."""

    caller: Caller
    key: str | None
    request: str
    hash: str

    def write(
        self, act: Act, *, status: int = 201, shown_once: frozenset[str] = frozenset()
    ) -> Response:
        """Answer what `act` answers, or what it answered to the same key before.

        Fields that are `shown_once` are null in the repeat: nothing secret is kept. The answer is
        kept in the transaction of the act, and the transaction is over before anything is sent.
        Raises `Conflict` for a key that came with something else.
        """
        with self.caller.store.write() as session:
            kept = self._kept(session)
            if kept is None:
                now = self.caller.clock()
                said = act(session, self.caller.actor, now).model_dump_json()
                self._keep(session, status, json.loads(said) | dict.fromkeys(shown_once), now)
            else:
                status, said = kept.status, json.dumps(kept.response)
        return Response(said, status, media_type="application/json")

    def answered(self) -> Response | None:
        """What was answered to the same key before, None for something new.

        For what takes long: it is worked out before the transaction that keeps it.
        """
        with self.caller.store.read() as session:
            kept = self._kept(session)
        if kept is None:
            return None
        said = json.dumps(kept.response)
        return Response(said, kept.status, media_type="application/json")

    def _kept(self, session: ReadSession) -> Answer | None:
        if self.key is None:
            return None
        kept = find_answer(session, self.caller.actor.id, self.key)
        if kept is not None and (kept.request, kept.body_hash) != (self.request, self.hash):
            raise Conflict("this Idempotency-Key came with another request before")
        return kept

    def _keep(
        self, session: WriteSession, status: int, response: dict[str, Any], now: datetime
    ) -> None:
        if self.key is not None:
            kept = Answer(
                actor=self.caller.actor.id,
                key=self.key,
                request=self.request,
                body_hash=self.hash,
                status=status,
                response=response,
                recorded_at=now,
            )
            keep_answer(session, kept)


async def once_of(request: Request, caller: Asks, key: Key = None) -> Once:
    """The request as something to be done once."""
    path = f"{request.method} {request.url.path}"
    return Once(caller, key, path, await body_hash(request))


Writes = Annotated[Once, Depends(once_of)]
