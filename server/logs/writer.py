"""Writes the log in a thread of its own: whoever has something to tell never waits for a disk."""

import os
from collections import deque
from logging import WARNING, Handler, LogRecord
from threading import Event, Lock, Thread
from typing import Final

MOST_WAITING: Final = 10_000
MOST_AT_ONCE: Final = 500
PAUSE_SECONDS: Final = 0.1
LEAVE_SECONDS: Final = 2.0


class LogWriter(Handler):
    """Lines to a file descriptor, in their order; what cannot be written is lost and counted.

    With a reader that stands still, a full disk or a pipe that nobody reads any more, up to
    `most_waiting` lines wait, and no caller does. The next line that arrives says how many were
    lost before it. What is told is written within a tenth of a second: to wake the thread for
    each line would cost a request more than the line.
    """

    def __init__(
        self, out: int, *, most_waiting: int = MOST_WAITING, leave_seconds: float = LEAVE_SECONDS
    ) -> None:
        super().__init__()
        self._out = out
        self._most_waiting, self._leave_seconds = most_waiting, leave_seconds
        self._waiting: deque[str] = deque()
        self._lost = 0
        self._counting = Lock()
        self._broken_off = False
        self._over = Event()
        self._thread = Thread(target=self._run, name="log", daemon=True)
        self._thread.start()

    @property
    def lost(self) -> int:
        """How many lines were lost that no later line has told of."""
        return self._lost

    def emit(self, record: LogRecord) -> None:
        """Take a line; never raises, and never waits."""
        try:
            line = self.format(record)
        except Exception:  # noqa: BLE001 - a line that cannot be told stops nobody's work
            self._count(1)
            return
        if len(self._waiting) < self._most_waiting:
            self._waiting.append(line)
        else:
            self._count(1)

    def close(self) -> None:
        """Write what waits, not for long: a reader that stands still holds up no end."""
        self._over.set()
        self._thread.join(self._leave_seconds)
        super().close()

    def _run(self) -> None:
        over = False
        while not over:
            over = self._over.wait(PAUSE_SECONDS)
            while self._waiting:
                count = min(len(self._waiting), MOST_AT_ONCE)
                self._write([self._waiting.popleft() for _ in range(count)])

    def _write(self, lines: list[str]) -> None:
        lost = self._lost
        first = [self._say_lost(lost)] if lost else []
        text = "".join(f"{line}\n" for line in [*first, *lines])
        try:
            self._put(text.encode(errors="backslashreplace"))
        except OSError:
            self._count(len(lines))
        else:
            self._count(-lost)

    def _put(self, told: bytes) -> None:
        """Write all of it; after a line that broke off in the middle, on a line of its own."""
        told = b"\n" + told if self._broken_off else told
        while told:
            told = told[os.write(self._out, told) :]
            self._broken_off = bool(told)

    def _count(self, lost: int) -> None:
        with self._counting:
            self._lost += lost

    def _say_lost(self, lost: int) -> str:
        words = f"{lost} lines of the log were lost before this one"
        return self.format(LogRecord(__name__, WARNING, __file__, 0, words, None, None))
