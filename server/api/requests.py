"""The body of a request, read strictly: what could be understood in two ways is refused."""

import json
from collections.abc import Callable, Coroutine
from hashlib import sha256
from typing import Any, Final
from urllib.parse import quote

from fastapi import Request, Response
from fastapi.routing import APIRoute

from server.services.unreadable import noticed, noticing

UNREAD: Final = object()
DEPTH: Final = 20
LEFT_OUT: Final = "unreadable-episodes"
"""The header that names the episodes an answer lacks, because their facts cannot be read."""
TOO_DEEP: Final = "is nested too deeply"


class Malformed(Exception):
    """The body is no JSON, or none that means one thing only."""


class StrictRequest(Request):
    """A request whose JSON has no repeated names, no NaN, and no more depth than a body needs."""

    _read: Any = UNREAD

    async def json(self) -> Any:
        """The body as JSON.

        A malformed one is answered as a text, which no body is, and the reason noted: who asks
        is looked at before what is asked.
        """
        if self._read is UNREAD:
            try:
                self._read = _parse(await self.body())
            except Malformed as why:
                self.state.malformed = str(why)
                self._read = ""
        return self._read


class StrictRoute(APIRoute):
    """A route that reads its request strictly, and says what its answer had to leave out."""

    def get_route_handler(self) -> Callable[[Request], Coroutine[Any, Any, Response]]:
        """The handler of the base, given a strict request."""
        handler = super().get_route_handler()

        async def handle(request: Request) -> Response:
            with noticing():
                answer = await handler(StrictRequest(request.scope, request.receive))
                if left_out := noticed():
                    answer.headers[LEFT_OUT] = ", ".join(quote(one.id, safe="") for one in left_out)
                return answer

        return handle


async def body_hash(request: Request) -> str:
    """The hash of what a body says: spaces and the order of names do not count."""
    said = await request.json() if await request.body() else None
    canonical = json.dumps(said, sort_keys=True, separators=(",", ":"))
    return sha256(canonical.encode()).hexdigest()


def _parse(body: bytes) -> Any:
    try:
        value = json.loads(
            body.decode("utf-8"),
            object_pairs_hook=_without_repeats,
            parse_constant=_refuse_constant,
        )
    except RecursionError:
        raise Malformed(TOO_DEEP) from None
    except UnicodeDecodeError:
        raise Malformed("is not UTF-8") from None
    except ValueError as wrong:
        raise Malformed(f"is not JSON: {wrong}") from None
    if _depth(value) > DEPTH:
        raise Malformed(TOO_DEEP)
    return value


def _without_repeats(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    read = dict(pairs)
    if len(read) < len(pairs):
        raise ValueError("a name is repeated in one object")
    return read


def _refuse_constant(name: str) -> Any:
    raise ValueError(f"{name} is no number")


def _depth(value: Any) -> int:
    """How deeply lists and objects are nested, without recursion."""
    depth, level = 0, [value]
    while level:
        depth += 1
        inner = [item for item in level if isinstance(item, dict | list)]
        level = [
            part for item in inner for part in (item.values() if isinstance(item, dict) else item)
        ]
        if not inner:
            return depth - 1
    return depth
