"""A lock that serves those who wait in the order in which they came."""

from collections import deque
from collections.abc import Iterator
from contextlib import contextmanager
from threading import Event, Lock

from server.store.errors import Away


class FairLock:
    """First come, first served; may be released by another thread than the one that took it.

    SQLite's own waiting is a lottery: under load one thread writes thousands of times while
    another gets no turn for seconds.
    """

    def __init__(self) -> None:
        self._guard = Lock()
        self._held = False
        self._waiting: deque[Event] = deque()

    @contextmanager
    def turn(self, patience_seconds: float) -> Iterator[None]:
        """Hold the lock; raises `Away` if no turn came within `patience_seconds`."""
        if not self._take(patience_seconds):
            message = f"no turn to write within {patience_seconds:g} s"
            raise Away(message)
        try:
            yield
        finally:
            self._pass_on()

    def _take(self, patience_seconds: float) -> bool:
        with self._guard:
            if not self._held:
                self._held = True
                return True
            turn = Event()
            self._waiting.append(turn)
        return turn.wait(patience_seconds) or self._give_up(turn)

    def _give_up(self, turn: Event) -> bool:
        """Leave the queue; True if the turn came at the last moment after all."""
        with self._guard:
            if turn.is_set():
                return True
            self._waiting.remove(turn)
            return False

    def _pass_on(self) -> None:
        with self._guard:
            if self._waiting:
                self._waiting.popleft().set()
            else:
                self._held = False
