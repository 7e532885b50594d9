"""Who asks: a token's holder, with the database and the clock."""

from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from time import monotonic
from typing import Annotated

from fastapi import Depends, Request, Security
from fastapi.security import HTTPAuthorizationCredentials, HTTPBearer

from server.api.problems import Unknown
from server.clock import Clock
from server.domain.errors import Invalid
from server.services.actor import Actor
from server.services.permissions import Act, may
from server.services.shown import ASKED_BY
from server.services.tokens import actor_of_token
from server.store.sessions import ReadSession
from server.store.store import Store

BEARER = HTTPBearer(auto_error=False, description="A token made by `fourth-hour token`.")


@dataclass(frozen=True, slots=True)
class Caller:
    """Who asks. Sessions are opened where they are used, and never outlive the endpoint.

    A session that a dependency opened would be held while the endpoint waits for a thread: with
    every thread waiting for the write lock, whoever holds it would never get one.
    """

    actor: Actor
    store: Store
    clock: Clock
    secret: str

    @contextmanager
    def read(self) -> Iterator[tuple[ReadSession, datetime]]:
        """A snapshot, and the instant it is looked at from."""
        with self.store.read() as session:
            yield session, self.clock()

    def may_still(self, act: Act, ward_id: str) -> bool:
        """Whether the token still opens something, and its holder may still do it there."""
        with self.store.read() as session:
            actor = actor_of_token(session, self.secret)
        return actor is not None and may(actor, act, ward_id)


def caller_of(
    request: Request,
    credentials: Annotated[HTTPAuthorizationCredentials | None, Security(BEARER)],
) -> Caller:
    """Whose token it is. Raises `Unknown`, `TooFast`, and `Invalid` for a name given twice."""
    store: Store = request.app.state.store
    clock: Clock = request.app.state.clock
    if credentials is None:
        raise Unknown("a token is needed: Authorization: Bearer …")
    secret = credentials.credentials
    with store.read() as session:
        actor = actor_of_token(session, secret)
    if actor is None:
        raise Unknown("this token opens nothing")
    request.app.state.pace.take(actor.access_id or actor.id, monotonic())
    _require_once(request)
    request.scope[ASKED_BY] = actor
    return Caller(actor, store, clock, secret)


def _require_once(request: Request) -> None:
    names = Counter(name for name, _ in request.query_params.multi_items())
    for name, times in names.items():
        if times > 1:
            raise Invalid(name, "is given more than once")


Asks = Annotated[Caller, Depends(caller_of)]
