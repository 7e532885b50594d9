"""Something that is searched beside the main search, on a second processor.

What it answers follows from what it was given, as each search has its own steps to use up: that it
went on in another thread changes only when the answer is there. The solver lets other threads run
while it searches.
"""

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from threading import Event
from types import TracebackType
from typing import Generic, TypeVar

from server.planning.budget import Budget

T = TypeVar("T")


class Aside(Generic[T]):
    """One search in a thread of its own. Leaving it stops the search and waits for its thread."""

    def __init__(self, budget: Budget, search: Callable[[Budget], T]) -> None:
        """Begin it, with all that is left of a budget."""
        self._search, self._main, self._begun = search, budget, budget.used
        self._stop = Event()
        self._own = budget.beside(self._stop)
        self._thread = ThreadPoolExecutor(1, thread_name_prefix="plan-aside")
        self._made = self._thread.submit(search, self._own)

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
        if self._stop.is_set():
            return self._search(self._main)
        made = self._made.result()
        self._main.used = max(self._main.used, self._begun + self._own.used)
        return made

    def stop(self) -> None:
        """Give the processor to others; whether it had ended already makes no difference."""
        self._stop.set()
        self._thread.shutdown()
