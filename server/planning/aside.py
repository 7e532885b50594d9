"""Something that is searched beside the main search, on a second processor where there is one.

What it answers follows from what it was given, as each search has its own steps to use up: that it
went on in another thread changes only when the answer is there. The solver lets other threads run
while it searches. With one processor it is searched by the main search once it is asked for.
"""

import logging
import os
from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor
from threading import Event
from types import TracebackType
from typing import Final, Generic, TypeVar

from server.planning.budget import Budget

T = TypeVar("T")

_LOG: Final = logging.getLogger(__name__)


def processors() -> int:
    """How many of the machine's processors this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


class Aside(Generic[T]):
    """One search in a thread of its own. Leaving it stops the search and waits for its thread."""

    def __init__(
        self, budget: Budget, search: Callable[[Budget], T], *, is_begun: bool = True
    ) -> None:
        """Begin it, with all that is left of a budget, where a second processor can go on with it.

        Where it is not begun it is as if it had been stopped at once.
        """
        self._search, self._main, self._begun = search, budget, budget.used
        self._stop = Event()
        self._own = budget.beside(self._stop)
        self._thread = ThreadPoolExecutor(1, thread_name_prefix="plan-aside")
        self._made: Future[T] | None = None
        if is_begun and processors() > 1:
            self._made = self._thread.submit(self._told, self._own)

    def __enter__(self) -> "Aside[T]":
        """Go on with something else meanwhile."""
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """Stop it."""
        self.stop()

    def answer(self) -> T:
        """Answer what it found; where it was stopped it is searched now, by the main search.

        The main search has then used as much as the longer of both.
        """
        if self._made is None or self._stop.is_set():
            return self._search(self._main)
        made = self._made.result()
        self._main.used = max(self._main.used, self._begun + self._own.used)
        return made

    def stop(self) -> None:
        """Give the processor to others; whether it had ended already makes no difference."""
        self._stop.set()
        self._thread.shutdown()

    def _told(self, own: Budget) -> T:
        """Search, and tell the log where that fails: maybe nobody asks for the answer."""
        try:
            return self._search(own)
        except Exception:
            _LOG.exception("What was searched beside a plan failed")
            raise
