"""Whoever waits for a database that stands still waits no longer than until that is known."""

from asyncio import Future, ensure_future, wait
from collections.abc import Callable
from typing import Any, Final, TypeVar

from starlette.concurrency import run_in_threadpool

from server.live import Feed
from server.store.errors import Away

LOOK_SECONDS: Final = 0.25

Answer = TypeVar("Answer")


async def unless_away(feed: Feed, act: Callable[..., Answer], *given: Any) -> Answer:
    """Answer what `act` does in a thread. Raises `Away` once the feed knows that, too.

    A question that hangs cannot be taken back: its thread goes on with it, and nobody listens.
    """
    asked: Future[Answer] = ensure_future(run_in_threadpool(act, *given))
    while not (await wait({asked}, timeout=LOOK_SECONDS))[0]:
        if feed.away:
            asked.add_done_callback(_hear)
            raise Away("it has not answered for seconds")
    return asked.result()


def _hear(asked: "Future[Any]") -> None:
    """Nobody is left to be told how it failed."""
    if not asked.cancelled():
        asked.exception()
